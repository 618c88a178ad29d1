// SPDX-License-Identifier: Apache-2.0
//
// What could not be read of one thing, with the reasons, in one line.

#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/reading.h"

namespace report {

class Unknowns {
 public:
  /// Takes `name` where the reading is unknown.
  template <typename T>
  void Add(std::string_view name, const base::Reading<T>& reading) {
    if (!reading) {
      AddReason(name, reading.why_unknown());
    }
  }

  /// "driver and MTU of eth0 unknown: not read; duplex of eth0 unknown: the link is down": each
  /// reason once. Empty where all is known; `of` may be empty.
  std::string Text(std::string_view of = {}) const;

 private:
  void AddReason(std::string_view name, const std::string& why);

  std::vector<std::pair<std::string, std::vector<std::string>>> names_by_reason_;
};

}  // namespace report
