// SPDX-License-Identifier: Apache-2.0

#include "report/show/blocks.h"

namespace report::show {

void Facts::Add(std::string name, std::string value, When when) {
  facts_.push_back({std::move(name), std::move(value), false, when});
}

void Facts::AddUnknown(std::string name, const std::string& reason, When when) {
  facts_.push_back({std::move(name), "unknown: " + reason, true, when});
}

void Facts::Add(std::string name, const base::Reading<std::string>& reading, When when) {
  Add(
      std::move(name), reading, [](const std::string& text) { return text; }, when);
}

Cell ReadingCell(const base::Reading<std::string>& reading) {
  return ReadingCell(reading, [](const std::string& text) { return text; });
}

}  // namespace report::show
