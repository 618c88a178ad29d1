// SPDX-License-Identifier: Apache-2.0
//
// result.json and report.html, and what is said of them.

#pragma once

#include <filesystem>

#include "base/result.h"
#include "cli/options/options.h"
#include "report/data/document.h"

namespace cli {

/// Writes both files into the folder, which is made again where it was removed during the run,
/// whole or not at all, then shows the document with their places.
base::Status WriteResults(const report::Document& document, const std::filesystem::path& into,
                          const Options& options);

}  // namespace cli
