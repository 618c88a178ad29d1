// SPDX-License-Identifier: Apache-2.0
//
// Reads the next piece of a file on a thread of its own while the one before is looked at.

#pragma once

#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <mutex>
#include <stop_token>
#include <thread>
#include <vector>

#include "probes/byte_source.h"

namespace probes {

class ReadAhead {
 public:
  /// Nothing else may read `source` between Ask and Take.
  explicit ReadAhead(ByteSource& source) : source_(&source) {}

  /// Begins to read `bytes` from `at` on, behind `room` bytes that are left free.
  void Ask(std::int64_t at, std::size_t room, std::size_t bytes);
  /// Whether a piece that begins at `at` was asked for and not taken.
  bool Has(std::int64_t at) const { return asked_ && at_ == at; }
  /// Waits for the piece, which is shorter at the file's end, and swaps it in.
  void Take(std::vector<std::uint8_t>& into);
  /// Waits for what was asked for and forgets it.
  void Drop();

 private:
  void Work(const std::stop_token& stop);
  void Wait();

  ByteSource* source_;
  bool asked_ = false;  // by the caller, whose thread alone uses it
  std::int64_t at_ = 0;
  std::size_t room_ = 0;
  std::vector<std::uint8_t> piece_;
  std::mutex mutex_;
  std::condition_variable_any changed_;
  bool busy_ = false;
  std::jthread thread_;  // last: ends before the rest; begun with the first piece
};

}  // namespace probes
