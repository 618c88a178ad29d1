// SPDX-License-Identifier: Apache-2.0
//
// Writes manual pages and completions into the folder that is named: part of the build.

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>

#include "base/system/standard_streams.h"
#include "cli/man/completion.h"
#include "cli/man/man_page.h"
#include "cli/options/option_table.h"
#include "cli/options/version.h"

namespace {

bool Write(const std::filesystem::path& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary);
  file << text;
  file.close();
  return file.good();
}

}  // namespace

int main(int argc, char** argv) {
  base::OpenClosedStandardStreams();
  if (argc != 2) {
    std::fputs("usage: rigproof_manual_pages FOLDER\n", stderr);
    return 2;
  }
  const std::filesystem::path folder(argv[1]);
  const std::string version = cli::ProgramVersion();
  bool written = Write(folder / "rigproof.1", cli::ManPage(version)) &&
                 Write(folder / "rigproof.bash", cli::BashCompletion()) &&
                 Write(folder / "_rigproof", cli::ZshCompletion()) &&
                 Write(folder / "rigproof.fish", cli::FishCompletion());
  for (const cli::CommandRow& row : cli::CommandTable()) {
    const std::string name = "rigproof-" + std::string(row.name) + ".1";
    written = written && Write(folder / name, cli::ManPage(row, version));
  }
  if (!written) {
    std::fprintf(stderr, "%s: cannot be written\n", argv[1]);
  }
  return written ? 0 : 1;
}
