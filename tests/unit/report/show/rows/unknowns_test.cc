// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/unknowns.h"

#include <gtest/gtest.h>

namespace report {
namespace {

using Text = base::Reading<std::string>;

TEST(Unknowns, SaysNothingOfWhatIsKnown) {
  Unknowns unknowns;
  unknowns.Add("driver", Text(std::string()));
  unknowns.Add("MTU", base::Reading<int>(0));
  EXPECT_EQ(unknowns.Text("eth0"), "");
}

TEST(Unknowns, GivesEachReasonOnceInTheOrderOfTheNames) {
  Unknowns unknowns;
  unknowns.Add("driver", Text::Unknown("not told"));
  unknowns.Add("duplex", Text::Unknown("the link is down"));
  unknowns.Add("MTU", base::Reading<int>::Unknown("not told"));
  unknowns.Add("state", base::Reading<bool>::Unknown("not told"));
  EXPECT_EQ(unknowns.Text(),
            "driver, MTU and state unknown: not told; duplex unknown: the link is down");
  EXPECT_EQ(unknowns.Text("eth0"),
            "driver, MTU and state of eth0 unknown: not told; duplex of eth0 unknown: the link is "
            "down");
}

}  // namespace
}  // namespace report
