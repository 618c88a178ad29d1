// SPDX-License-Identifier: Apache-2.0
//
// The three writers of a Document. None decides anything.

#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "report/data/document.h"

namespace report {

struct TerminalStyle {
  bool colour = false;
  int columns = 80;
  bool details = false;  // the long form
};

/// Verdict and first limit in the first lines, then headroom, findings, drops.
std::string WriteTerminal(const Document& document, const TerminalStyle& style);

/// result.json: stable keys `format`, `version`, `verdict`, `complete`,
/// `profile`, `machine`, `demand`, `headroom`, `rehearsal`, `capacity`,
/// `findings`, `method`; the rest of the evidence beside them.
std::string WriteJson(const Document& document);

/// The evidence of a stored result.json, to assess again; errors name the key.
base::Result<Evidence> ReadStoredEvidence(std::string_view json_text, const std::string& origin);

/// report.html: one file that opens offline.
std::string WriteHtml(const Document& document);

}  // namespace report
