// SPDX-License-Identifier: Apache-2.0
//
// The names that one part of a log gives to numbers.

#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include "probes/data/watch_log.h"
#include "probes/watch_log/bytes.h"
#include "probes/watch_log/encoder.h"

namespace probes {

struct WatchName {
  std::string text;         // printable
  std::int64_t detail = 0;  // of a process: its number
};

/// Devices keep one number through all parts, whatever number each part gives them.
class WatchNames {
 public:
  /// A part begins: only devices stay.
  void Forget();
  /// False when it is no name.
  bool Take(ByteReader& bytes);

  const WatchName* Find(WatchNameKind kind, std::int64_t number) const;
  /// The number in `devices()` of what this part calls `number`.
  std::optional<std::size_t> Device(WatchNameKind kind, std::uint64_t number) const;
  const WatchDevices& devices() const { return devices_; }

 private:
  using Key = std::pair<WatchNameKind, std::uint64_t>;

  WatchDevices devices_;
  std::map<Key, WatchName> names_;
  std::map<Key, std::size_t> numbers_;
};

}  // namespace probes
