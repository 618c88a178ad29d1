// SPDX-License-Identifier: Apache-2.0
//
// The verdict, what to fix first and what is open, in words.

#include "report/show/rows/verdict.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/headroom/headroom.h"
#include "tests/support/sample_verdict.h"

namespace report {
namespace {

using ::testing::ElementsAre;
using ::testing::EndsWith;
using ::testing::HasSubstr;
using ::testing::Not;

TEST(WordsOf, NoTwoVerdictsHaveOneSign) {
  EXPECT_EQ(WordsOf(Verdict::kReady).mark, show::Mark::kGood);
  EXPECT_EQ(WordsOf(Verdict::kTight).mark, show::Mark::kWarn);
  EXPECT_EQ(WordsOf(Verdict::kShort).mark, show::Mark::kStop);
  EXPECT_EQ(WordsOf(Verdict::kUnproven).mark, show::Mark::kUnknown);
}

TEST(WhyIncomplete, SaysWhatIsMissing) {
  Evidence evidence;
  EXPECT_EQ(WhyIncomplete(evidence), "Nothing was rehearsed.");
  evidence.results.rehearsal.emplace();
  EXPECT_EQ(WhyIncomplete(evidence), "The rehearsal did not end.");
  evidence.results.rehearsal->stopped_because = "the disk is full";
  EXPECT_EQ(WhyIncomplete(evidence), "The rehearsal stopped early: the disk is full.");
  evidence.results.rehearsal->complete = true;
  EXPECT_EQ(WhyIncomplete(evidence), "Part of what was asked for was not run.");
}

TEST(FixFirst, IsNothingOnlyWhereThePcIsReady) {
  Document document;
  document.verdict = Verdict::kReady;
  EXPECT_EQ(FixFirst(document), "nothing");
  document.verdict = Verdict::kShort;
  EXPECT_EQ(FixFirst(document), "nothing was found that would help");
  document.headroom = {NewRow(Resource::kUsb, "bus 2", "B/s")};
  document.headroom[0].how_to_prove = "run the line check";
  EXPECT_EQ(FixFirst(document), "nothing found; usb is not proven yet: run the line check");
  document = tests::ShortDocument();
  EXPECT_EQ(FixFirst(document),
            "The recording disk is too slow: Record to a disk inside the PC, or halve the "
            "bitrate.");
}

TEST(OpenPoints, AreWhatAsksForSomethingAndWhatIsUnproven) {
  EXPECT_THAT(OpenPoints(tests::ShortDocument()),
              ElementsAre("Stop: The recording disk is too slow", "Warn: Power saving is on",
                          "Unproven: usb bus 2"));
  EXPECT_EQ(UnprovenNames(tests::ShortDocument()), "usb bus 2");
  EXPECT_EQ(UnprovenNames(tests::ReadyDocument()), "");
}

TEST(TestedText, TellsOfWhatWasRunAndOnWhat) {
  Evidence evidence = tests::ShortDocument().evidence;
  evidence.inventory.live = true;
  EXPECT_EQ(TestedText(evidence),
            "Quarry Fair talk, 1 h 30 min; quick rehearsal of 1 min, started 2026-03-04 05:06 UTC");
  evidence.length = kRehearsalOnly;
  EXPECT_THAT(TestedText(evidence), HasSubstr("; rehearsal alone for 1 min,"));
  evidence.inventory.live = false;
  evidence.inventory.machine_root = "/copies/studio";
  EXPECT_THAT(TestedText(evidence), EndsWith("; machine read from /copies/studio"));
  evidence.results.rehearsal.reset();
  evidence.length = kSurvey;
  EXPECT_THAT(TestedText(evidence), Not(HasSubstr("rehearsal")));
}

TEST(TestFacts, LeavesADateThatIsNoneAsItIs) {
  Evidence evidence;
  evidence.started_at = "yesterday";
  bool told = false;
  for (const show::Fact& fact : TestFacts(evidence).all()) {
    told = told || (fact.name == "Tested" && fact.text == "yesterday");
  }
  EXPECT_TRUE(told);
}

}  // namespace
}  // namespace report
