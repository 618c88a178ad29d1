// SPDX-License-Identifier: Apache-2.0
//
// Every enumeration that is stored or shown: each enumerator has a word of its own.

#include "profiles/words.h"

#include <set>
#include <string>

#include <gtest/gtest.h>

#include "bench/data/load_kind.h"
#include "bench/data/stage.h"
#include "report/data/document.h"
#include "report/fields/comparison.h"
#include "report/fields/line_check.h"
#include "report/fields/recording.h"
#include "report/fields/sizing.h"
#include "report/fields/words.h"
#include "report/show/rows/pcie_lines.h"
#include "report/stored/fields_explain.h"
#include "report/stored/fields_what_if.h"

namespace report::stored {
namespace {

/// "kNone" is the one that may stand for no word.
template <typename Enum>
constexpr bool IsNone(Enum value) {
  if constexpr (requires { Enum::kNone; }) {
    return value == Enum::kNone;
  }
  return false;
}

template <typename Enum>
class Words : public testing::Test {};

using Enums = testing::Types<
    bench::Stage, bench::LoadKind, NodeKind, PciKind, Resource, SubjectKind, ReportPart, Verdict,
    Severity, Basis, probes::UsbRole, probes::TransferType, probes::LineOutcome, probes::TrackKind,
    probes::RateFrom, probes::Beat, probes::ClockSource, probes::ReadState, probes::FileEnd,
    probes::TimesFrom, DriftFrom, Standing, GapShape, LipSync, RecordingVerdict, Sureness,
    RemedyCost, PlacedBy, NodeStep, profiles::ArrivesBy, profiles::SourceTransport,
    profiles::Content, profiles::OutputKind, profiles::EncoderChoice, profiles::Effort,
    profiles::CableKind, profiles::CoaxGrade, profiles::ControlWires>;
TYPED_TEST_SUITE(Words, Enums);

TYPED_TEST(Words, StandForOneEnumeratorEach) {
  std::set<TypeParam> values;
  std::set<std::string> words;
  for (const auto& [value, word] : kWords<TypeParam>) {
    EXPECT_TRUE(values.insert(value).second) << word;
    EXPECT_TRUE(words.insert(std::string(word)).second) << word;
    EXPECT_TRUE(IsNone(value) || !word.empty()) << static_cast<int>(value);
    EXPECT_EQ(WordOf(value), word);
    EXPECT_EQ(FromWord<TypeParam>(word), value);
  }
  EXPECT_FALSE(values.empty());
  // Enumerators count from 0 without a gap: one that has no row shows here, but for the last ones.
  int next = 0;
  for (const TypeParam value : values) {
    EXPECT_EQ(static_cast<int>(value), next++);
  }
}

}  // namespace
}  // namespace report::stored
