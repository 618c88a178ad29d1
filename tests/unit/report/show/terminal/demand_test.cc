// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/demand.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/golden.h"
#include "tests/support/sample_verdict.h"

namespace report {
namespace {

using testing::HasSubstr;

TEST(WriteDemandText, ShowsSourcesOutputsAndSums) {
  tests::ExpectGolden("demand_80.txt",
                      WriteDemandText(tests::QuarryProfile(), tests::QuarryDemand(), {false, 80}));
}

TEST(WriteDemandText, StacksOnANarrowTerminal) {
  tests::ExpectGolden("demand_40.txt",
                      WriteDemandText(tests::QuarryProfile(), tests::QuarryDemand(), {false, 40}));
}

TEST(WriteDemandText, ShowsAProfileWithoutSourcesOrOutputs) {
  profiles::Profile profile;
  profile.name = "Empty";
  EXPECT_THAT(WriteDemandText(profile, {}, {false, 80}), HasSubstr("What Empty needs of a PC"));
}

}  // namespace
}  // namespace report
