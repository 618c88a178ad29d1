// SPDX-License-Identifier: Apache-2.0

#include "report/inventory_json.h"

#include "report/stored/fields_probes.h"
#include "report/stored/layout.h"
#include "report/stored/opening.h"
#include "report/stored/to_json.h"

namespace report {

std::string InventoryJson(const probes::Inventory& inventory) {
  stored::Json json = stored::Opening("rigproof-inventory", 1);
  json.update(stored::ToJson(inventory));
  return stored::Layout(json);
}

}  // namespace report
