// SPDX-License-Identifier: Apache-2.0
//
// Entry of the program that has FFmpeg: arguments in, one command run, exit status out.

#include <cstdio>
#include <string>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/system/standard_streams.h"
#include "cli/commands/run.h"
#include "cli/options/options.h"
#include "cli/options/version.h"
#include "cli/system/outcome.h"
#include "cli/system/terminal.h"

namespace {

base::Result<int> Main(const std::vector<std::string>& arguments) {
  base::KeepFfmpegComplaints();
  auto invocation = cli::ParseArguments(arguments, cli::TerminalColumns(cli::Stream::kOutput));
  if (!invocation) {
    return invocation.error();
  }
  const std::string text = invocation->version ? cli::VersionText() : invocation->text;
  if (!text.empty()) {
    std::fputs(text.c_str(), stdout);
    return std::fflush(stdout) == 0 ? invocation->status : cli::kFailed;
  }
  return cli::RunCommand(invocation->options);
}

}  // namespace

int main(int argc, char** argv) {
  base::OpenClosedStandardStreams();
  return cli::EndWith([&] { return Main(std::vector<std::string>(argv + 1, argv + argc)); });
}
