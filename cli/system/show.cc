// SPDX-License-Identifier: Apache-2.0
//
// Documents and cautions to the standard streams.

#include "cli/system/show.h"

#include <cstdio>
#include <string>

#include "cli/system/output_style.h"
#include "cli/system/write_file.h"

namespace cli {

base::Status ShowDocument(const report::Document& document, const Options& options) {
  return PrintOut(options.json ? report::WriteJson(document)
                               : report::WriteTerminal(document, OutputStyle(options.details)));
}

void Tell(const Options& options, std::string_view text) {
  if (!options.quiet) {
    const std::string line = "rigproof: " + std::string(text) + "\n";
    std::fputs(line.c_str(), stderr);
  }
}

void Caution(const Options& options, std::span<const std::string_view> cautions) {
  for (const std::string_view caution : cautions) {
    Tell(options, caution);
  }
}

}  // namespace cli
