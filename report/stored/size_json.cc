// SPDX-License-Identifier: Apache-2.0
//
// A sizing as JSON.

#include <nlohmann/json.hpp>

#include "report/fields/layout.h"
#include "report/fields/sizing.h"
#include "report/fields/to_json.h"
#include "report/predict/size.h"
#include "report/stored/opening.h"

namespace report {

std::string SizingJson(const Sizing& sizing) {
  stored::Json json = stored::Opening("rigproof-sizing", 1);
  json.update(stored::ToJson(sizing));
  return stored::Layout(json);
}

}  // namespace report
