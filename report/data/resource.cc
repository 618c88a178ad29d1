// SPDX-License-Identifier: Apache-2.0

#include "report/data/resource.h"

namespace report {

std::string RowName(Resource resource, const std::string& item, std::string_view between) {
  std::string name(base::WordOf(resource));
  return item.empty() ? name : name.append(between).append(item);
}

}  // namespace report
