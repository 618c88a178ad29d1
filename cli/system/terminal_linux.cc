// SPDX-License-Identifier: Apache-2.0
//
// isatty, the window size, and the two environment variables.

#include "cli/system/terminal.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <cstdlib>
#include <string_view>

namespace cli {
namespace {

int Descriptor(Stream stream) {
  return stream == Stream::kOutput ? STDOUT_FILENO : STDERR_FILENO;
}

std::string_view Environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? std::string_view() : std::string_view(value);
}

}  // namespace

bool IsTerminal(Stream stream) {
  const std::string_view terminal = Environment("TERM");
  return isatty(Descriptor(stream)) != 0 && !terminal.empty() && terminal != "dumb";
}

int TerminalColumns(Stream stream) {
  constexpr int kUsual = 80;
  winsize size{};
  const bool told = ioctl(Descriptor(stream), TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
  return told ? size.ws_col : kUsual;
}

bool WantsColour(Stream stream) {
  return IsTerminal(stream) && Environment("NO_COLOR").empty();
}

}  // namespace cli
