// SPDX-License-Identifier: Apache-2.0
//
// A sizing as JSON.

#include <nlohmann/json.hpp>

#include "report/size.h"
#include "report/stored/fields_sizing.h"
#include "report/stored/layout.h"
#include "report/stored/opening.h"
#include "report/stored/to_json.h"

namespace report {

std::string SizingJson(const Sizing& sizing) {
  stored::Json json = stored::Opening("rigproof-sizing", 1);
  json.update(stored::ToJson(sizing));
  return stored::Layout(json);
}

}  // namespace report
