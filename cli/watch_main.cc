// SPDX-License-Identifier: Apache-2.0
//
// The program that watches: small, for it runs beside a production for days. `rigproof watch`
// becomes it.

#include <csignal>
#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include "base/text.h"
#include "cli/watching.h"

namespace {

constexpr int kFailed = 1;
constexpr int kWrongUse = 2;

int Complain(const std::string& line, int status) {
  std::fprintf(stderr, "rigproof: %s\n", line.c_str());
  return status;
}

int Main(const std::vector<std::string>& texts) {
  // A reader that goes away is an error to handle, not our death.
  std::signal(SIGPIPE, SIG_IGN);
  const auto arguments = cli::FromTexts(texts);
  const auto status = arguments ? cli::Watch(*arguments) : base::Result<int>(arguments.error());
  if (!status) {
    const base::Error& error = status.error();
    constexpr std::size_t kLongest = 2000;
    return Complain(base::Printable(error.where + ": " + error.detail, kLongest),
                    error.kind == base::ErrorKind::kIo ? kFailed : kWrongUse);
  }
  return *status;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return Main(std::vector<std::string>(argv + 1, argv + argc));
  } catch (const std::exception& error) {
    // No room for a thread, no memory; ours do not throw.
    return Complain(std::string("failed: ") + error.what(), kFailed);
  }
}
