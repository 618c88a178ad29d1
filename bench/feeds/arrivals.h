// SPDX-License-Identifier: Apache-2.0
//
// How far each picture of one source has come on its way from the camera to a working picture.

#pragma once

#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <vector>

namespace bench {

/// Every picture that fell due leaves this account exactly once: it comes out, or
/// it is lost. Thread-safe.
class Arrivals {
 public:
  struct Lost {
    std::int64_t index = 0;
    bool received = false;  // it had come as far as the decoder
  };

  /// It fell due and is under way.
  void Due(std::int64_t index);
  /// It came to the receiver whole.
  void Received(std::int64_t index);
  /// It is given up. False when it was no longer under way.
  bool GiveUp(std::int64_t index);

  /// A picture came out. Those due before it that have not come out will not come any more:
  /// decoders hand out in order. Nothing when `index` was not under way itself (a decoder made
  /// it up, or it was given up before).
  std::optional<std::vector<Lost>> CameOut(std::int64_t index);
  /// All that is still under way when nothing comes any more.
  std::vector<Lost> TakeRest();

 private:
  std::mutex mutex_;
  std::map<std::int64_t, bool> under_way_;  // true: received
};

}  // namespace bench
