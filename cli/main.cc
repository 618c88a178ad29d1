// SPDX-License-Identifier: Apache-2.0
//
// Entry of the program: arguments in, one command run, exit status out.

#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include "base/ffmpeg.h"
#include "cli/commands/run.h"
#include "cli/options.h"

namespace {

void Complain(const std::string& line) {
  std::fprintf(stderr, "rigproof: %s\n", line.c_str());
}

int Main(const std::vector<std::string>& arguments) {
  auto invocation = cli::ParseArguments(arguments);
  if (!invocation) {
    Complain(cli::ErrorLine(invocation.error()));
    return cli::kWrongUse;
  }
  if (!invocation->text.empty()) {
    std::fputs(invocation->text.c_str(), stdout);
    return std::fflush(stdout) == 0 ? 0 : cli::kFailed;
  }
  auto status = cli::RunCommand(invocation->options);
  if (!status) {
    Complain(cli::ErrorLine(status.error()));
    return cli::ExitStatusOf(status.error());
  }
  return *status;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    base::KeepFfmpegComplaints();
    return Main(std::vector<std::string>(argv + 1, argv + argc));
  } catch (const std::exception& error) {
    // Ours do not throw: a library's surprise, or the end of memory or threads.
    Complain(cli::FailureLine(error));
    return cli::kFailed;
  }
}
