// SPDX-License-Identifier: Apache-2.0
//
// The model of changed productions as JSON.

#pragma once

#include <optional>

#include <nlohmann/json.hpp>

#include "report/data/what_if_model.h"

namespace report {

/// One object: inputs, nodes, resources, unproven, dropped; null without a model. Nodes are lists:
/// step, then the nodes that it is made of; ["number", value], ["input", which], and ["table",
/// nodes, sizes, entries], whose entries are text: "0.25x3 -" is three times 0.25 and one not told.
nlohmann::ordered_json WhatIfJson(const std::optional<WhatIfModel>& model);

}  // namespace report
