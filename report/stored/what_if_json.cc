// SPDX-License-Identifier: Apache-2.0
//
// The model as JSON, as result.json and the page hold it.

#include "report/stored/what_if_json.h"

#include <cmath>
#include <string>

#include <fmt/format.h>

#include "report/fields/to_json.h"
#include "report/stored/fields_what_if.h"

namespace report {
namespace {

using stored::Json;

std::string EntryText(double entry) {
  return std::isnan(entry) ? "-" : fmt::format("{:.8g}", entry);
}

/// Entries one after the other; "0.25x3" is three times the same.
std::string EntriesText(const std::vector<double>& entries) {
  std::string text;
  for (std::size_t at = 0; at < entries.size();) {
    const std::string entry = EntryText(entries[at]);
    std::size_t end = at + 1;
    while (end < entries.size() && EntryText(entries[end]) == entry) {
      ++end;
    }
    text += (text.empty() ? "" : " ") + entry;
    text += end - at > 1 ? fmt::format("x{}", end - at) : "";
    at = end;
  }
  return text;
}

/// [step, node, node ...]; ["number", value], ["input", which], ["table", [nodes], [sizes],
/// entries].
Json NodeJson(const WhatIfNode& node) {
  Json json = Json::array({std::string(stored::WordOf(node.step))});
  if (node.step == NodeStep::kNumber) {
    const double number = node.numbers.front();
    json.push_back(std::isnan(number) ? Json(nullptr) : Json(number));
    return json;
  }
  if (node.step == NodeStep::kTable) {
    json.push_back(node.of);
    json.push_back(node.sizes);
    json.push_back(EntriesText(node.numbers));
    return json;
  }
  for (const int of : node.of) {
    json.push_back(of);
  }
  return json;
}

}  // namespace

Json WhatIfJson(const std::optional<WhatIfModel>& model) {
  if (!model) {
    return nullptr;
  }
  Json nodes = Json::array();
  for (const WhatIfNode& node : model->nodes) {
    nodes.push_back(NodeJson(node));
  }
  return {{"inputs", stored::ToJson(model->inputs)},
          {"nodes", std::move(nodes)},
          {"resources", stored::ToJson(model->resources)},
          {"unproven", stored::ToJson(model->unproven)},
          {"dropped", model->dropped},
          {"unfair", model->unfair}};
}

}  // namespace report
