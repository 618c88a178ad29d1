// SPDX-License-Identifier: Apache-2.0
//
// Several outputs behind one encoder: accounts of their own, one cost, none holds up the others.

#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/pipeline/encode_stage.h"
#include "profiles/demand/pipeline_sizes.h"
#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

using testing::ElementsAre;
using tests::ExpectBalanced;
using tests::Rehearse;
using tests::TemporaryFolder;

/// SmallProduction with its recording written a second time, as a transport stream.
profiles::Profile Sharing() {
  profiles::Profile profile = tests::SmallProduction();
  profiles::Output copy = profile.outputs[0];
  copy.name = "Copy";
  copy.container = "mpegts";
  profile.outputs.push_back(copy);
  return profile;
}

TEST(MakePlan, GivesTheSameEncodeToOutputsThatAskForIt) {
  auto plan = MakePlan(Sharing(), {});
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan->outputs[0].encode_number, plan->outputs[2].encode_number);
  EXPECT_NE(plan->outputs[0].encode_number, plan->outputs[1].encode_number);
  EXPECT_EQ(plan->outputs[2].encode_name, "Recording + Copy");
  EXPECT_EQ(plan->outputs[1].encode_name, "Iso: Left");
  EXPECT_THAT(plan->notes, testing::Contains("Recording + Copy: one encode serves all 2"));
  EXPECT_THAT(plan->notes, testing::Contains(testing::HasSubstr("Recording + Copy: why ")));
}

TEST(SharedEncode, IsChargedOnceAndNamesItsSharers) {
  const TemporaryFolder folder;
  PlanOptions options;
  options.record_to = folder.path();
  base::SystemClock clock;  // threads must live long enough to be looked at
  const Rehearsal run = Rehearse(Sharing(), options, 1, clock);
  ExpectBalanced(run);
  std::vector<std::string> encodes;
  for (const StageCost& cost : run.stages) {
    if (cost.stage == bench::Stage::kEncode) {
      encodes.push_back(cost.item);
    }
  }
  EXPECT_THAT(encodes, ElementsAre("Recording + Copy", "Iso: Left"));
  EXPECT_EQ(run.outputs[2].encode, "Recording + Copy");
  EXPECT_EQ(run.outputs[0].due, run.outputs[2].due);
}

/// An encode stage that encodes nothing, behind it one gate for each ledger.
class Shared : public testing::Test {
 protected:
  Shared() {
    plan_.encoder = "null";
    plan_.output.rate = 25;
    plan_.output.raster = {16, 16};
    pacer_.Begin(0);
  }

  /// Falls due and is offered at once, as a canvas does.
  void Send(std::int64_t index) {
    entrance_.Due(index);
    entrance_.Offer(*picture_, index);
  }

  OutputPlan plan_;
  base::ManualClock clock_;
  RealTimePacer pacer_{clock_};
  RunControl control_;
  Ledger quick_{25};
  Ledger stuck_{25};
  PacketGate quick_gate_{quick_, Stage::kWrite};
  PacketGate stuck_gate_{stuck_, Stage::kSend};
  OutputEntrance entrance_{25, 25, true, {&quick_, &stuck_}};
  EncodeStage stage_{plan_, entrance_, {&quick_gate_, &stuck_gate_}, pacer_, control_};
  base::FramePtr picture_ = *base::NewPicture(kWorkingFormat, 16, 16);
};

TEST_F(Shared, ADropInFrontOfItIsADropOfEverySharer) {
  constexpr int kSent = 20;
  for (int i = 0; i < kSent; ++i) {
    Send(i);  // nobody takes from the queue
  }
  for (const Ledger* ledger : {&quick_, &stuck_}) {
    EXPECT_EQ(ledger->totals().due, kSent);
    EXPECT_EQ(ledger->totals().dropped, kSent - profiles::kEncodeQueueFrames);
    EXPECT_EQ(ledger->drop_runs("X")[0].stage, bench::Stage::kEncode);
  }
}

TEST_F(Shared, AStuckWriterNeitherHoldsUpNorCostsTheOther) {
  constexpr int kSent = 200;
  std::jthread encoder([this] { stage_.Run(); });
  for (int i = 0; i < kSent; ++i) {
    Send(i);
    const auto item = quick_gate_.queue().Pop();
    ASSERT_TRUE(item);
    EXPECT_EQ(item->packet->pts, i) << "every frame comes, in order";
    quick_.Delivered(i, 0, 0);
  }
  entrance_.Close();
  encoder.join();
  EXPECT_EQ(quick_.totals().dropped, 0);
  EXPECT_EQ(stuck_.totals().dropped, kSent - profiles::kWriteQueuePackets);
  EXPECT_EQ(stuck_.drop_runs("X")[0].stage, bench::Stage::kSend);
  EXPECT_EQ(stage_.encoded(), kSent);
}

}  // namespace
}  // namespace bench
