// SPDX-License-Identifier: Apache-2.0
//
// What goes to standard output, and lines on standard error.

#pragma once

#include <span>
#include <string_view>

#include "base/result.h"
#include "cli/options/options.h"
#include "report/data/document.h"
#include "report/data/writers.h"

namespace cli {

/// The document as JSON or as text, as the options ask.
base::Status ShowDocument(const report::Document& document, const Options& options);

/// One line on standard error, "rigproof: TEXT"; nothing when quiet.
void Tell(const Options& options, std::string_view text);

/// Said before a run: a line each.
void Caution(const Options& options, std::span<const std::string_view> cautions);

}  // namespace cli
