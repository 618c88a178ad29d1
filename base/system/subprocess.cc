// SPDX-License-Identifier: Apache-2.0

#include "base/system/subprocess.h"

#include <fmt/format.h>

#include "base/text.h"

namespace base {

std::string WhyFailed(const Finished& finished) {
  if (finished.ok()) {
    return "";
  }
  if (finished.stopped) {
    return "stopped on request";
  }
  if (finished.timed_out) {
    return "took longer than it may";
  }
  std::string why = finished.signal != 0 ? fmt::format("ended by signal {}", finished.signal)
                                         : fmt::format("exit status {}", finished.exit_status);
  const std::string_view err = Trim(finished.err);
  if (!err.empty()) {
    const std::size_t newline = err.rfind('\n');
    why += ": " + Printable(newline == std::string_view::npos ? err : err.substr(newline + 1));
  }
  return why;
}

}  // namespace base
