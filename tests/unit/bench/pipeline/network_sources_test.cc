// SPDX-License-Identifier: Apache-2.0
//
// Rehearsals whose sources come over the network, and how those are decoded.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/pipeline/ingest.h"
#include "bench/plan/source_plan.h"
#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

using tests::NetworkCamera;

TEST(RunRehearsal, BalancesNetworkSourcesUnderAManualClock) {
  // All pictures are sent at once: sockets and queues overflow wherever they can.
  for (const auto transport : {profiles::SourceTransport::kRtp, profiles::SourceTransport::kRtsp}) {
    profiles::Profile profile = tests::SmallProduction();
    profile.sources[0] = NetworkCamera("h264");
    profile.sources[0].transport = transport;
    base::ManualClock clock;
    PlanOptions options;
    options.null_encoders = true;
    const Rehearsal run = tests::Rehearse(profile, options, 4, clock);
    EXPECT_TRUE(run.complete) << run.stopped_because;
    EXPECT_EQ(run.feeds[0].due, 100);
    tests::ExpectBalanced(run);
  }
}

TEST(RunRehearsal, ChargesReceivingAndKeepsSimulatingApart) {
  profiles::Profile profile = tests::SmallProduction();
  profile.sources[0] = NetworkCamera("h264");
  base::SystemClock clock;
  PlanOptions options;
  options.null_encoders = true;
  const Rehearsal run = tests::Rehearse(profile, options, 1, clock);
  std::vector<Stage> stages;
  double simulate = 0;
  for (const StageCost& cost : run.stages) {
    stages.push_back(cost.stage);
    simulate += cost.stage == bench::Stage::kSimulate ? cost.cpu_seconds : 0;
  }
  EXPECT_THAT(stages, testing::IsSupersetOf({bench::Stage::kSimulate, bench::Stage::kReceive,
                                             bench::Stage::kDecode}));
  EXPECT_EQ(run.simulation_cpu_seconds, simulate);
  EXPECT_THAT(run.plan, testing::Contains(testing::HasSubstr("RTP over UDP")));
}

TEST(PlanSource, TakesAHardwareDecoderThatWorks) {
  const std::vector<WorkingDecoder> fake{{"hevc_fake", "hevc"}, {"h264_fake", "h264"}};
  const profiles::Source network = NetworkCamera("h264");
  EXPECT_EQ(PlanSource(network, fake).decoder, "h264_fake");
  EXPECT_THAT(NoteOn(network, PlanSource(network, fake), fake), testing::HasSubstr("h264_fake"));
  EXPECT_EQ(PlanSource(network, {}).decoder, "");
  EXPECT_THAT(NoteOn(network, PlanSource(network, {}), {}),
              testing::HasSubstr("no hardware decoder works here"));
  profiles::Source usb = tests::SmallProduction().sources[0];
  usb.pixel_format = "h264";
  EXPECT_EQ(PlanSource(usb, fake).decoder, "") << "captured packets are decoded as before";
}

TEST(PlanSource, AddsThreadsOnlyWhereOneMayNotKeepUp) {
  profiles::Source source = NetworkCamera("hevc");
  EXPECT_EQ(PlanSource(source, {}).threads, 1);
  source.raster = {3840, 2160};
  source.rate = 50;
  EXPECT_GT(PlanSource(source, {}).threads, 1);
  EXPECT_GT(PlanSource(source, {}).delay_frames(), 0);
}

TEST(Ingest, DecodesByTheDecoderOfThePlan) {
  const profiles::Source source = NetworkCamera("h264");
  SourcePlan plan;
  plan.decoder = "h264";
  auto ingest = Ingest::Open(source, AV_CODEC_ID_H264, plan);
  ASSERT_TRUE(ingest);
  EXPECT_EQ(ingest->decoder_name(), "h264");
  plan.decoder = "hevc";
  EXPECT_FALSE(Ingest::Open(source, AV_CODEC_ID_H264, plan)) << "another codec's";
  plan.decoder = "no-such-decoder";
  EXPECT_FALSE(Ingest::Open(source, AV_CODEC_ID_H264, plan));
}

TEST(RunRehearsal, FallsBackToSoftwareWhenTheHardwareDecoderRefuses) {
  profiles::Profile profile = tests::SmallProduction();
  profile.sources[0] = NetworkCamera("h264");
  base::ManualClock clock;
  PlanOptions options;
  options.null_encoders = true;
  options.hardware_decoders = {{"invented-decoder", "h264"}};
  const Rehearsal run = tests::Rehearse(profile, options, 1, clock);
  EXPECT_TRUE(run.complete) << run.stopped_because;
  EXPECT_EQ(run.feeds[0].decoder, "h264");
  EXPECT_THAT(run.plan, testing::Contains(testing::HasSubstr("invented-decoder refused")));
}

}  // namespace
}  // namespace bench
