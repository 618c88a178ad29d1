// SPDX-License-Identifier: Apache-2.0
//
// The verdict: its table, its order, and that worse numbers never make it better.

#include "report/assess/verdict.h"

#include <functional>
#include <map>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "report/loads/facts.h"
#include "report/words/cautions.h"
#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

using ::testing::HasSubstr;
using ::testing::StartsWith;

struct VerdictCase {
  const char* name;
  Verdict verdict;
  std::function<void(Evidence&)> change;
  const char* headline;
};

void PrintTo(const VerdictCase& one, std::ostream* out) {
  *out << one.name;
}

class VerdictTable : public ::testing::TestWithParam<VerdictCase> {};

TEST_P(VerdictTable, FollowsFromTheEvidence) {
  Evidence evidence = GoodEvidence();
  GetParam().change(evidence);
  const Document document = Assess(evidence);
  EXPECT_EQ(document.verdict, GetParam().verdict) << document.headline;
  EXPECT_THAT(document.headline, HasSubstr(GetParam().headline));
  EXPECT_FALSE(document.reasons.empty());
  ExpectStopsAndVerdictAgree(document);
}

const std::vector<VerdictCase> kCases = {
    {"Ready", Verdict::kReady, [](Evidence&) {}, "Ready: nothing dropped"},
    {"TightByEncoder", Verdict::kTight, [](Evidence& e) { e.results.flat_out->speed = 1.14; },
     "Tight: holds, but encoding has 12 % headroom, its margin is 25 %."},
    {"TightByDisk", Verdict::kTight,
     [](Evidence& e) { e.results.disks[0].sustained_bytes_per_second = 1.3e6; },
     "the disk of /recordings has 38 % headroom, its margin is 40 %"},
    {"TightByPermittedDrop", Verdict::kTight,
     [](Evidence& e) {
       Drop(e, 1, 30, bench::Stage::kEncode);
       e.profile.margins.allowed_drops_per_hour = 60;
     },
     "within what the profile allows"},
    {"ShortByDrops", Verdict::kShort, [](Evidence& e) { Drop(e, 213, 30, bench::Stage::kEncode); },
     "Short: 213 output frames were dropped in 1 min of rehearsal after the warm-up, most at the "
     "encode"},
    {"ShortByFeedDrops", Verdict::kShort,
     [](Evidence& e) {
       e.results.rehearsal->feeds[0].seconds[30].dropped = 2;
       e.results.rehearsal->feeds[0].dropped = 2;
     },
     "Short: 2 camera frames were dropped"},
    {"ShortByComputedDemand", Verdict::kShort,
     [](Evidence& e) { e.demand.sources[0].bytes_per_second = 498e6; }, "Short: USB device"},
    {"ShortBehindAHubThatWasNotRead", Verdict::kShort,
     [](Evidence& e) {
       e.inventory.usb.devices.back().parent = "4-9";
       e.demand.sources[1].bytes_per_second = 498e6;
     },
     "Short: USB device"},
    {"ShortBySpace", Verdict::kShort,
     [](Evidence& e) { e.inventory.storage[0].free_bytes = std::int64_t{1}; },
     "Short: free space in /recordings"},
    {"WarmUpDropsAreNotJudged", Verdict::kReady,
     [](Evidence& e) { Drop(e, 4, 2, bench::Stage::kEncode); }, "Ready"},
    {"WarmUpDropsOfFeedsAreNotJudged", Verdict::kReady,
     [](Evidence& e) {
       e.results.rehearsal->feeds[0].seconds[9].dropped = 2;
       e.results.rehearsal->feeds[0].dropped = 2;
     },
     "Ready"},
    {"UnprovenWithoutDiskTest", Verdict::kUnproven, [](Evidence& e) { e.results.disks.clear(); },
     "Unproven: the rehearsal held (0 of 4200 output frames dropped), but the disk of /recordings: "
     "the "
     "disk was not measured."},
    {"UnprovenWithoutCamera", Verdict::kUnproven,
     [](Evidence& e) { e.inventory.usb.devices.pop_back(); },
     "dropped), but no camera was found on the USB port of Camera 2."},
    {"UnprovenWithoutCameras", Verdict::kUnproven,
     [](Evidence& e) {
       e.inventory.usb.devices.pop_back();
       e.inventory.usb.devices.pop_back();
     },
     "dropped), but no camera was found on the USB ports of 2 sources."},
    {"UnprovenWithPermittedDrop", Verdict::kUnproven,
     [](Evidence& e) {
       e.results.disks.clear();
       Drop(e, 1, 30, bench::Stage::kEncode);
       e.profile.margins.allowed_drops_per_hour = 60;
     },
     "the rehearsal held (1 of 4200 output frames dropped, within what the profile allows), but "},
    {"UnprovenWhenItCouldNotStart", Verdict::kUnproven,
     [](Evidence& e) {
       e.results.rehearsal = bench::Rehearsal{};
       e.results.rehearsal->stopped_because = "Stream: an encoder refused";
       e.results.flat_out.reset();
       e.telemetry.reset();
     },
     "Unproven: the rehearsal could not start: Stream: an encoder refused."},
    {"UnprovenWhenOverBeforeTheWarmUp", Verdict::kUnproven,
     [](Evidence& e) { e.results.rehearsal->seconds = e.results.rehearsal->warm_up_seconds; },
     "Unproven: the rehearsal ended during its warm-up: nothing was judged."},
    {"UnprovenWhenUsbCannotBeRead", Verdict::kUnproven,
     [](Evidence& e) {
       e.inventory.usb = {};
       e.inventory.usb.present = base::Reading<bool>::Unknown("no /sys/bus/usb");
     },
     "no /sys/bus/usb"},
    {"UnprovenWhenCutShort", Verdict::kUnproven,
     [](Evidence& e) {
       e.results.rehearsal->complete = false;
       e.results.rehearsal->stopped_because = "interrupted";
     },
     "the rehearsal was cut short: interrupted"},
    {"UnprovenForAStreamAbroad", Verdict::kUnproven,
     [](Evidence& e) { e.profile.outputs[1].url = "rtmp://example.invalid/live"; },
     "uplink not measured"},
    {"UnprovenSurvey", Verdict::kUnproven,
     [](Evidence& e) {
       e.length = "survey";
       e.results = {};
       e.telemetry.reset();
     },
     "Unproven"},
    {"UnknownLinkOfALoopbackStreamIsNoObstacle", Verdict::kReady,
     [](Evidence& e) {
       e.inventory.network.links[0].speed_mbps = base::Reading<double>::Unknown("-1");
     },
     "Ready"},
    {"UnreadableDisplaysAreNoObstacle", Verdict::kReady,
     [](Evidence& e) { e.inventory.gpu.displays.clear(); }, "Ready"},
    {"ShortWinsOverUnproven", Verdict::kShort,
     [](Evidence& e) {
       e.results.disks.clear();
       Drop(e, 1, 30, bench::Stage::kEncode);
     },
     "Short"},
    {"UnprovenWinsOverTight", Verdict::kUnproven,
     [](Evidence& e) {
       e.results.disks.clear();
       e.results.flat_out->speed = 1.1;
     },
     "Unproven"},
};

INSTANTIATE_TEST_SUITE_P(All, VerdictTable, ::testing::ValuesIn(kCases),
                         [](const auto& one) { return std::string(one.param.name); });

TEST(ExitStatus, HasOneNumberForEachVerdict) {
  EXPECT_EQ(ExitStatus(Verdict::kReady), 0);
  EXPECT_EQ(ExitStatus(Verdict::kTight), 3);
  EXPECT_EQ(ExitStatus(Verdict::kShort), 4);
  EXPECT_EQ(ExitStatus(Verdict::kUnproven), 5);
}

TEST(Reasons, SayWhatWentWrongFirstAndHowSureItIsLast) {
  Evidence evidence = GoodEvidence();
  Drop(evidence, 213, 30, bench::Stage::kEncode);
  const Document document = Assess(evidence);
  EXPECT_THAT(document.reasons.front(), StartsWith("213 output frames were dropped"));
  EXPECT_THAT(document.reasons.back(), HasSubstr("drops an hour (95 %)"));
  EXPECT_THAT(document.reasons.back(), ::testing::Not(HasSubstr("e+")));  // thousands an hour
}

TEST(Reasons, TellHowLongARunWouldProveTheLimit) {
  const Document document = Assess(GoodEvidence());
  // Nothing in one minute: 2.9957 / (1/60 h) = 180 an hour; 2.9957 h for one an hour.
  EXPECT_THAT(document.reasons.back(),
              ::testing::AllOf(HasSubstr("at most 180 drops an hour (95 %)"),
                               HasSubstr("a rehearsal of 3 h without a drop")));
}

TEST(Reasons, TellOnceHowSeveralResourcesAreProven) {
  const Evidence evidence = GoodEvidence();
  std::vector<report::Headroom> headroom(2);
  headroom[0].resource = Resource::kDisk;
  headroom[0].item = "/a";
  headroom[1].resource = Resource::kMemory;
  for (report::Headroom& row : headroom) {
    row.source = "not measured";
    row.how_to_prove = "qualify";
  }
  EXPECT_THAT(report::Reasons(report::GatherFacts(evidence), headroom),
              ::testing::Contains("The disk of /a: not measured; memory: not measured. To prove "
                                  "them: qualify."));
}

TEST(Reasons, NeverAddCameraFramesAndOutputFrames) {
  Evidence evidence = GoodEvidence();
  Drop(evidence, 3, 30, bench::Stage::kEncode);
  bench::FeedLedger& feed = evidence.results.rehearsal->feeds[0];
  for (bench::LedgerWindow& second : feed.seconds) {
    second.due = 30;
  }
  feed.seconds[40].dropped = 1;
  const Document document = Assess(evidence);
  EXPECT_THAT(document.headline, HasSubstr("3 output frames and 1 camera frame were dropped"));
  EXPECT_THAT(document.reasons.back(),
              StartsWith("3 of 4200 output frames and 1 of 1800 camera frames dropped in 1 min"));
}

TEST(Cautions, OfASurveyLeaveOutTheLoadThatItDoesNotPut) {
  Evidence evidence = GoodEvidence();
  EXPECT_THAT(Assess(evidence).cautions, ::testing::Contains(HasSubstr("live event")));
  evidence.length = report::kSurvey;
  EXPECT_THAT(Assess(evidence).cautions, ::testing::ElementsAre(kCautionMains, kCautionInside));
}

TEST(Assess, NeverCallsAMissedMarginKept) {
  Evidence evidence = GoodEvidence();
  evidence.results.flat_out->speed = 1 / (1 - 0.2499);
  EXPECT_THAT(Assess(evidence).headline, HasSubstr("has 24 % headroom, its margin is 25 %"));
}

TEST(Assess, GivesTheSameDocumentForTheSameEvidence) {
  const Document first = Assess(GoodEvidence());
  const Document second = Assess(GoodEvidence());
  EXPECT_EQ(first.headline, second.headline);
  EXPECT_EQ(first.reasons, second.reasons);
  EXPECT_EQ(first.headroom.size(), second.headroom.size());
}

TEST(Assess, IsCompleteUnlessSomethingWasCutShort) {
  EXPECT_TRUE(Assess(GoodEvidence()).complete);
  Evidence cut = GoodEvidence();
  cut.results.flat_out->complete = false;
  EXPECT_FALSE(Assess(cut).complete);
  Evidence survey;
  survey.length = "survey";
  EXPECT_TRUE(Assess(survey).complete);
}

TEST(Assess, TakesEmptyEvidence) {
  EXPECT_EQ(Assess(Evidence{}).verdict, Verdict::kUnproven);
}

int Badness(Verdict verdict) {
  static const std::map<Verdict, int> order = {
      {Verdict::kReady, 0}, {Verdict::kTight, 1}, {Verdict::kUnproven, 2}, {Verdict::kShort, 3}};
  return order.at(verdict);
}

// One number made worse by a random share.
void Worsen(Evidence& e, std::mt19937& random) {
  const double share = std::uniform_real_distribution<double>(0.3, 1.0)(random);
  const std::vector<std::function<void()>> ways = {
      [&] { Drop(e, 1 + static_cast<std::int64_t>(share * 5), 30, bench::Stage::kEncode); },
      [&] { e.results.flat_out->speed *= share; },
      [&] { e.results.disks[0].sustained_bytes_per_second *= share * 0.1; },
      [&] { e.demand.sources[0].bytes_per_second /= share; },
      [&] { e.demand.sources[1].bytes_per_second /= share; },
      [&] { e.inventory.cpu.usable_cpus = *e.inventory.cpu.usable_cpus * share; },
      [&] {
        for (auto& sample : e.telemetry->samples) {
          sample.own_cpus = *sample.own_cpus / share;
          sample.busy_cpus = *sample.busy_cpus / share;
        }
      },
      [&] {
        e.inventory.network.links[0].speed_mbps = *e.inventory.network.links[0].speed_mbps * share;
      },
      [&] {
        e.inventory.storage[0].free_bytes = static_cast<std::int64_t>(
            static_cast<double>(*e.inventory.storage[0].free_bytes) * share);
      },
      [&] { e.results.rehearsal->peak_resident_bytes *= 3; },
      [&] { e.demand.displays += 1; },
      [&] { e.inventory.usb.devices.back().speed_mbps = 480; },
      [&] { e.profile.margins.cpu_percent += 10; },
  };
  ways[std::uniform_int_distribution<std::size_t>(0, ways.size() - 1)(random)]();
}

TEST(Verdict, NeverImprovesWhenNumbersGetWorse) {
  int shorts = 0;
  int readies = 0;
  for (unsigned seed = 0; seed < 60; ++seed) {
    std::mt19937 random(seed);
    Evidence evidence = GoodEvidence();
    evidence.profile.margins.allowed_drops_per_hour = 120;
    int before = Badness(Assess(evidence).verdict);
    readies += before == 0 ? 1 : 0;
    for (int step = 0; step < 8; ++step) {
      Worsen(evidence, random);
      const int after = Badness(Assess(evidence).verdict);
      ASSERT_GE(after, before) << "seed " << seed << ", step " << step;
      before = after;
    }
    shorts += before == 3 ? 1 : 0;
  }
  // The walk covers the ground from ready to short.
  EXPECT_EQ(readies, 60);
  EXPECT_GT(shorts, 20);
}

}  // namespace
}  // namespace report::testing
