// SPDX-License-Identifier: Apache-2.0
//
// Counting sessions with an encoder that is made up, and with FFmpeg's door.

#include "bench/runs/hardware_sessions.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

/// Each picture takes 10 ms of a clock that only it moves.
class MadeUpSession : public EncodeSession {
 public:
  MadeUpSession(base::ManualClock& clock, bool works) : clock_(clock), works_(works) {}
  base::Status EncodeOne() override {
    if (!works_) {
      return base::Error{base::ErrorKind::kUnsupported, "", "refuses the first picture"};
    }
    clock_.SleepUntilNs(clock_.NowNs() + 10'000'000);
    return base::Done{};
  }

 private:
  base::ManualClock& clock_;
  bool works_;
};

/// Opens `most` sessions, the next one with `refusal`.
SessionOpener MadeUp(base::ManualClock& clock, int most, int& opened) {
  return [&clock, most, &opened]() -> base::Result<std::unique_ptr<EncodeSession>> {
    if (opened == most) {
      return base::Error{base::ErrorKind::kUnsupported, "", "no more sessions"};
    }
    ++opened;
    return std::unique_ptr<EncodeSession>(std::make_unique<MadeUpSession>(clock, true));
  };
}

HardwareEncode Wanting(int sessions) {
  HardwareEncode about;
  about.encoder = "h264_made_up";
  about.wanted = sessions;
  return about;
}

TEST(MeasureSessions, CountsWhatOpensUntilItIsRefused) {
  base::ManualClock clock;
  int opened = 0;
  const HardwareEncode found = MeasureSessions(Wanting(10), MadeUp(clock, 3, opened), clock, 1);
  EXPECT_EQ(found.sessions, 3);
  EXPECT_EQ(found.refusal, "no more sessions");
  // One picture every 10 ms, whichever session it is in.
  EXPECT_NEAR(found.one_per_second, 100, 1e-6);
  EXPECT_NEAR(found.all_per_second, 100, 1e-6);
}

TEST(MeasureSessions, OpensNoMoreThanAreWanted) {
  base::ManualClock clock;
  int opened = 0;
  const HardwareEncode found = MeasureSessions(Wanting(5), MadeUp(clock, 99, opened), clock, 0.1);
  EXPECT_EQ(opened, 5);
  EXPECT_EQ(found.sessions, 5);
  EXPECT_EQ(found.refusal, "");
}

TEST(MeasureSessions, ASessionThatEncodesNothingDoesNotCount) {
  base::ManualClock clock;
  const HardwareEncode found = MeasureSessions(
      Wanting(5),
      [&]() -> base::Result<std::unique_ptr<EncodeSession>> {
        return std::unique_ptr<EncodeSession>(std::make_unique<MadeUpSession>(clock, false));
      },
      clock, 1);
  EXPECT_EQ(found.sessions, 0);
  EXPECT_EQ(found.one_per_second, 0);
  EXPECT_EQ(found.refusal, "refuses the first picture");
}

TEST(HardwareNeeds, NoneWhereAllIsSoftware) {
  const auto plan = MakePlan(tests::SmallProduction(), {});
  ASSERT_TRUE(plan);
  EXPECT_THAT(HardwareNeeds(*plan), IsEmpty());
}

TEST(HardwareNeeds, EachEncoderOnceAtItsLargestRaster) {
  auto plan = MakePlan(tests::SmallProduction(), {});
  ASSERT_TRUE(plan);
  ASSERT_EQ(plan->outputs.size(), 2U);
  plan->outputs[0].encoder = "h264_nvenc";
  plan->outputs[1].encoder = "h264_nvenc";
  plan->outputs[1].output.raster = {256, 128};
  const auto needs = HardwareNeeds(*plan);
  ASSERT_EQ(needs.size(), 1U);
  EXPECT_EQ(needs[0].sessions, 2);
  EXPECT_EQ(needs[0].raster, (profiles::Raster{256, 128}));
}

TEST(MeasureHardware, OpensFfmpegsEncodersByName) {
  // A software encoder goes through the same door; this PC may have no other.
  base::SystemClock clock;
  HardwareNeed need{"libx264", "h264", {128, 64}, 25, 500, {{"preset", "ultrafast"}}, 1};
  const HardwareEncode found = MeasureHardware(need, 1, clock, 0.002);
  EXPECT_EQ(found.wanted, 2);
  EXPECT_EQ(found.sessions, 2);
  EXPECT_GT(found.one_per_second, 0);
  need.encoder = "h264_of_nobody";
  const HardwareEncode missing = MeasureHardware(need, 1, clock, 0.002);
  EXPECT_EQ(missing.sessions, 0);
  EXPECT_THAT(missing.refusal, HasSubstr("h264_of_nobody"));
}

}  // namespace
}  // namespace bench
