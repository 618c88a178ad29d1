// SPDX-License-Identifier: Apache-2.0
//
// A part of a production whose CPU nothing measured tells of.

#pragma once

#include <string>

#include "bench/data/stage.h"

namespace report {

struct UntoldPart {
  bench::Stage stage = bench::Stage::kNone;
  std::string item;  // the source, the output, or all outputs of one encode; may be empty

  /// "convert of Left".
  std::string Text() const {
    return std::string(base::WordOf(stage)) + (item.empty() ? "" : " of " + item);
  }
};

}  // namespace report
