// SPDX-License-Identifier: Apache-2.0
//
// One rule with a state of the PC where it speaks and a near one where it is silent.

#pragma once

#include <algorithm>
#include <functional>
#include <ostream>
#include <string>
#include <vector>

#include <gmock/gmock.h>

#include "report/assess/assess.h"
#include "report/words/cautions.h"
#include "tests/support/evidence_builder.h"

namespace report::testing {

struct RuleCase {
  std::string id;
  Severity severity = Severity::kWarn;
  std::function<void(Evidence&)> speaks;
  std::function<void(Evidence&)> silent;
  std::vector<std::string> says;  // each somewhere in title, evidence or action
};

inline void PrintTo(const RuleCase& rule, std::ostream* out) {
  *out << rule.id;
}

inline std::string NameOf(const ::testing::TestParamInfo<RuleCase>& info) {
  std::string name;
  for (const char c : info.param.id) {
    name += c == '-' ? '_' : c;
  }
  return name + "_" + std::to_string(info.index);
}

inline std::string WholeText(const Finding& finding) {
  std::string text = finding.title + "\n" + finding.action;
  for (const std::string& line : finding.evidence) {
    text += "\n" + line;
  }
  return text;
}

/// A stop stands beside "short" and nothing else, and "short" never without a stop.
inline void ExpectStopsAndVerdictAgree(const Document& document) {
  const bool stopped =
      std::any_of(document.findings.begin(), document.findings.end(),
                  [](const Finding& finding) { return finding.severity == Severity::kStop; });
  EXPECT_EQ(stopped, document.verdict == Verdict::kShort) << document.headline;
}

/// Advice that means work inside the PC says who may do it and how; none raises a power limit.
inline void ExpectCautious(const std::string& action) {
  EXPECT_THAT(action, ::testing::Not(::testing::HasSubstr("power limit")));
  for (const char* inside :
       {"slot", "the card", "USB card", "graphics adapter", "add memory", "fans"}) {
    if (action.find(inside) != std::string::npos) {
      EXPECT_THAT(action, ::testing::EndsWith(std::string(kCautionInside)));
    }
  }
}

class RuleTest : public ::testing::TestWithParam<RuleCase> {};

inline void ExpectSpeaks(const RuleCase& rule) {
  Evidence evidence = GoodEvidence();
  rule.speaks(evidence);
  const Document document = Assess(evidence);
  const Finding* finding = Find(document, rule.id);
  ASSERT_NE(finding, nullptr);
  EXPECT_EQ(finding->severity, rule.severity) << finding->title;
  EXPECT_FALSE(finding->title.empty());
  EXPECT_FALSE(finding->evidence.empty());
  EXPECT_FALSE(finding->action.empty());
  ExpectCautious(finding->action);
  for (const std::string& part : rule.says) {
    EXPECT_THAT(WholeText(*finding), ::testing::HasSubstr(part));
  }
  ExpectStopsAndVerdictAgree(document);
}

inline void ExpectSilent(const RuleCase& rule) {
  Evidence evidence = GoodEvidence();
  rule.silent(evidence);
  const Document document = Assess(evidence);
  const Finding* finding = Find(document, rule.id);
  EXPECT_EQ(finding, nullptr) << (finding == nullptr ? "" : WholeText(*finding));
  ExpectStopsAndVerdictAgree(document);
}

}  // namespace report::testing
