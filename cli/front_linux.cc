// SPDX-License-Identifier: Apache-2.0
//
// Entry of `rigproof`: what needs no FFmpeg is done at once, without waiting for its hundred
// libraries to load; for all else the process becomes the program that has them.

#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>
#include <vector>

#include "base/system/standard_streams.h"
#include "cli/commands/inventory_here.h"
#include "cli/commands/run.h"
#include "cli/options/options.h"
#include "cli/system/outcome.h"
#include "cli/system/program_parts.h"

namespace {

base::Result<int> HandOver(char** argv) {
  const std::string program = cli::MediaProgram().string();
  execv(program.c_str(), argv);
  return base::Error{base::ErrorKind::kIo, program,
                     std::string("cannot be run: ") + std::strerror(errno)};
}

base::Result<int> Main(int argc, char** argv) {
  const auto invocation = cli::ParseArguments(std::vector<std::string>(argv + 1, argv + argc));
  if (!invocation) {
    return invocation.error();
  }
  const cli::Options& options = invocation->options;
  if (invocation->version || !invocation->text.empty()) {
    return HandOver(argv);
  }
  if (options.command == cli::Command::kWatch) {
    return cli::RunWatch(options);
  }
  return cli::IsInventoryHere(options) ? cli::RunInventoryHere(options) : HandOver(argv);
}

}  // namespace

int main(int argc, char** argv) {
  base::OpenClosedStandardStreams();
  return cli::EndWith([&] { return Main(argc, argv); });
}
