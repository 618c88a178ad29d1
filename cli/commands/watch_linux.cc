// SPDX-License-Identifier: Apache-2.0
//
// rigproof watch: becomes the small program that watches. This one maps some hundred libraries
// that a watch of days has no use for.

#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>
#include <vector>

#include "cli/commands/run.h"
#include "cli/inner_program.h"
#include "cli/version.h"
#include "cli/watching.h"

namespace cli {

base::Result<int> RunWatch(const Options& options) {
  if (options.into.empty()) {
    return base::Error{base::ErrorKind::kInvalid, "command line",
                       "watch needs --into LOG: a new folder, or an empty one, for the log"};
  }
  WatchArguments arguments;
  arguments.into = options.into;
  arguments.program = options.program;
  arguments.hz = options.hz;
  arguments.most_bytes = options.most_bytes;
  arguments.seconds = options.seconds;
  arguments.metrics = options.metrics;
  arguments.json = options.json;
  arguments.quiet = options.quiet;
  arguments.version = ProgramVersion();
  const std::string program = InnerProgram("rigproof-watch", "cli").string();
  std::vector<std::string> texts = ToTexts(arguments);
  texts.insert(texts.begin(), "rigproof");
  std::vector<char*> argv;
  argv.reserve(texts.size() + 1);
  for (std::string& text : texts) {
    argv.push_back(text.data());
  }
  argv.push_back(nullptr);
  execv(program.c_str(), argv.data());
  return base::Error{base::ErrorKind::kIo, program,
                     std::string("cannot be started: ") + std::strerror(errno)};
}

}  // namespace cli
