// SPDX-License-Identifier: Apache-2.0

#include "report/stored/inventory_json.h"

#include "report/fields/layout.h"
#include "report/fields/probes.h"
#include "report/fields/to_json.h"
#include "report/stored/opening.h"

namespace report {

std::string InventoryJson(const probes::Inventory& inventory) {
  stored::Json json = stored::Opening("rigproof-inventory", 1);
  json.update(stored::ToJson(inventory));
  return stored::Layout(json);
}

}  // namespace report
