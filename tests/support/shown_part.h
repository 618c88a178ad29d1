// SPDX-License-Identifier: Apache-2.0
//
// What a part says: as a terminal shows it, line breaks taken out again.

#pragma once

#include <sstream>
#include <string>

#include "report/show/terminal/blocks.h"

namespace tests {

/// `text` in one line.
inline std::string Flat(const std::string& text) {
  std::istringstream words(text);
  std::string flat;
  for (std::string word; words >> word;) {
    flat += (flat.empty() ? "" : " ") + word;
  }
  return flat;
}

/// The part in the long form.
inline std::string InFull(const report::show::Part& part) {
  report::TerminalPage page({.colour = false, .columns = 200, .details = true});
  report::PutPart(page, part);
  return Flat(page.text());
}

inline std::string InShort(const report::show::Part& part) {
  report::TerminalPage page({.colour = false, .columns = 200, .details = false});
  report::PutPart(page, part);
  return Flat(page.text());
}

}  // namespace tests
