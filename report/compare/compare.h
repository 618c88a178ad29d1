// SPDX-License-Identifier: Apache-2.0
//
// Sets results against each other. Pure: the same results give the same comparison.

#pragma once

#include <string>
#include <vector>

#include "report/data/comparison.h"

namespace report {

/// An assessed result and the name that people know it by.
struct NamedDocument {
  std::string name;
  Document document;
};

/// By what people know a result: file, production, PC, day.
ComparedResult IdentityOf(const NamedDocument& named);

Comparison Compare(const NamedDocument& before, const NamedDocument& after);

/// What a ranking keeps of a result: not its series, so that hundreds may be ranked.
struct RankEntry {
  RankedResult result;
  std::vector<double> speeds;   // windows of the full-speed run
  std::string production_text;  // the profile as JSON, to see whether it is the same
};
RankEntry EntryOf(const NamedDocument& named);

/// By verdict, then by what the tightest resource has above its margin, then by speed.
Ranking Rank(std::vector<RankEntry> entries, std::vector<UnreadResult> not_read);

/// `format` "rigproof-comparison".
std::string ComparisonJson(const Comparison& comparison);
/// `format` "rigproof-ranking".
std::string RankingJson(const Ranking& ranking);

/// "better", "worse", "no real difference", "unsure", "not told".
std::string StandingText(Standing standing);

}  // namespace report
