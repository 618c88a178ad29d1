// SPDX-License-Identifier: Apache-2.0
//
// A part of a production whose CPU nothing measured tells of.

#pragma once

#include <string>

namespace report {

struct UntoldPart {
  std::string stage;
  std::string item;  // the source, the output, or all outputs of one encode; may be empty

  /// "convert of Left".
  std::string Text() const { return item.empty() ? stage : stage + " of " + item; }
};

}  // namespace report
