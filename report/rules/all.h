// SPDX-License-Identifier: Apache-2.0
//
// The table of rules: each looks at the facts for one kind of trouble and appends its findings.

#pragma once

#include <span>
#include <string>
#include <vector>

#include "report/loads/facts.h"

namespace report::rules {

/// What a rule sees. Borrowed for the call.
struct RuleInput {
  const Facts& facts;
  const std::vector<Headroom>& headroom;
  const std::vector<DropCause>& causes;
  const std::vector<SpeedStep>& steps;
  const FairTest& fair_test;
};

using Rule = void (*)(const RuleInput&, std::vector<Finding>&);

/// The table.
std::span<const Rule> AllRules();

/// A finding with nothing said yet.
Finding NewFinding(std::string id, Severity severity);

/// Every rule once, sorted stop, warn, note; within one severity in table order.
std::vector<Finding> AllFindings(const RuleInput& input);

/// Those on USB links alone, that other ports may mend; not sorted.
std::vector<Finding> LinkFindings(const RuleInput& input);

}  // namespace report::rules
