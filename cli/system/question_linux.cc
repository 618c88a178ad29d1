// SPDX-License-Identifier: Apache-2.0
//
// One line from standard input, given up when a stop is requested.

#include "cli/system/question.h"

#include <poll.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <string>

#include "base/text.h"

namespace cli {

bool CanAsk() {
  return isatty(STDIN_FILENO) != 0 && isatty(STDERR_FILENO) != 0;
}

bool AskYesOrNo(std::string_view question, const std::stop_token& stop) {
  constexpr int kLookForStopMs = 100;
  const std::string line = std::string(question) + " [y/N] ";
  std::fputs(line.c_str(), stderr);
  std::fflush(stderr);
  while (!stop.stop_requested()) {
    pollfd waiting{STDIN_FILENO, POLLIN, 0};
    if (poll(&waiting, 1, kLookForStopMs) <= 0) {
      continue;
    }
    std::array<char, 256> answer{};
    const ssize_t got = read(STDIN_FILENO, answer.data(), answer.size());
    if (got <= 0) {
      return false;
    }
    const std::string_view text =
        base::Trim(std::string_view(answer.data(), static_cast<std::size_t>(got)));
    return text.starts_with('y') || text.starts_with('Y');
  }
  std::fputs("\n", stderr);
  return false;
}

}  // namespace cli
