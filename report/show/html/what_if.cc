// SPDX-License-Identifier: Apache-2.0
//
// The what-if part of the report page: the model for the script, and what it rests on in words.

#include <nlohmann/json.hpp>

#include "base/text.h"
#include "report/predict/size_resources.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/stored/what_if_json.h"

namespace report {
namespace {

using Json = nlohmann::ordered_json;

/// Every text as people may see it.
void MakePrintable(Json& json) {
  constexpr std::size_t kLongest = 1U << 20U;  // entries of a table are one text
  if (json.is_string()) {
    json = base::Printable(json.get<std::string>(), kLongest);
  } else if (json.is_structured()) {
    for (Json& part : json) {
      MakePrintable(part);
    }
  }
}

}  // namespace

std::string WhatIfData(const std::optional<WhatIfModel>& model) {
  Json json = WhatIfJson(model);
  MakePrintable(json);
  return ForScriptElement(json);
}

View WhatIfView(const Document& document, bool there) {
  return there ? View("basis", ToView(SizingBasis(Sizer(document.evidence)))) : View(false);
}

}  // namespace report
