// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/unit_files.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/usb_made_machine.h"

namespace {

using probes::IsMasked;
using probes::LastChoice;
using probes::ParseSection;
using probes::ReadConfiguration;
using probes::ReadUnit;
using probes::SettingLines;
using probes::WantedBy;
using testing::HasSubstr;

// Syntax: systemd.syntax(7).
TEST(ParseSection, ReadsKeysOfItsSectionOnly) {
  const auto lines = ParseSection(
      "# a comment\n[Unit]\nOnCalendar=no\n[Timer]\n  OnCalendar = daily \n;OnCalendar=weekly\n"
      "OnCalendar=\nOnCalendar=Mon *-*-* \\\n 06:00\nnonsense\n=x\n[Install]\nOnCalendar=no\n",
      "Timer");
  EXPECT_EQ(lines,
            (SettingLines{
                {"OnCalendar", "daily"}, {"OnCalendar", ""}, {"OnCalendar", "Mon *-*-*  06:00"}}));
  EXPECT_TRUE(ParseSection("", "Timer").empty());
  EXPECT_TRUE(ParseSection("[", "").empty());
  EXPECT_TRUE(ParseSection("[Timer]\na=b\\", "Timer").empty());
}

// The example of systemd.syntax(7).
TEST(ParseSection, CommentsWithinAContinuedLineAreNoPartOfIt) {
  const auto lines = ParseSection(
      "[Section C]\nKeyThree=value 3\\\n# this line is ignored\n; this line is ignored too\n"
      "       value 3 continued\n",
      "Section C");
  EXPECT_EQ(lines, (SettingLines{{"KeyThree", "value 3 value 3 continued"}}));
}

TEST(ReadUnit, DropInsComeAfterTheUnitAndEtcHidesUsr) {
  tests::UsbMadeMachine machine;
  machine.File("usr/lib/systemd/system/a.timer", "[Timer]\nOnCalendar=daily\n");
  machine.File("usr/lib/systemd/system/a.timer.d/20-x.conf", "[Timer]\nOnCalendar=usr\n");
  machine.File("etc/systemd/system/a.timer.d/10-y.conf", "[Timer]\nOnCalendar=ten\n");
  machine.File("etc/systemd/system/a.timer.d/20-x.conf", "[Timer]\nOnCalendar=etc\n");
  machine.File("etc/systemd/system/a.timer.d/readme", "[Timer]\nOnCalendar=no\n");
  const auto texts = ReadUnit(machine.root(), "a.timer");
  ASSERT_EQ(texts.size(), 3U);
  EXPECT_EQ(texts[0].file, "/usr/lib/systemd/system/a.timer");
  EXPECT_THAT(texts[1].file, HasSubstr("10-y.conf"));
  EXPECT_EQ(texts[2].file, "/etc/systemd/system/a.timer.d/20-x.conf");
  const auto last = LastChoice(texts, "Timer", "OnCalendar");
  ASSERT_TRUE(last);
  EXPECT_EQ(*last->value, "etc");
  EXPECT_FALSE(LastChoice(texts, "Timer", "OnBootSec"));
}

TEST(LastChoice, AnEmptyValueTakesBackWhatWasSaid) {
  EXPECT_FALSE(
      LastChoice({{"/a", "[Login]\nIdleAction=suspend\nIdleAction=\n"}}, "Login", "IdleAction"));
}

TEST(IsMasked, ByALinkToNothingOrAnEmptyFile) {
  tests::UsbMadeMachine machine;
  machine.File("dev/null", "");
  machine.Link("etc/systemd/system/sleep.target", "dev/null");
  machine.File("etc/systemd/system/empty.target", "");
  machine.File("etc/systemd/system/whole.target", "[Unit]\n");
  const auto root = machine.root();
  EXPECT_TRUE(IsMasked(root, "sleep.target"));
  EXPECT_TRUE(IsMasked(root, "empty.target"));
  EXPECT_FALSE(IsMasked(root, "whole.target"));
  EXPECT_FALSE(IsMasked(root, "missing.target"));
}

TEST(WantedBy, NeedsALinkAndNoMask) {
  tests::UsbMadeMachine machine;
  machine.File("usr/lib/systemd/system/a.timer", "[Timer]\n");
  EXPECT_FALSE(WantedBy(machine.root(), "timers.target", "a.timer"));
  machine.Link("etc/systemd/system/timers.target.wants/a.timer", "usr/lib/systemd/system/a.timer");
  EXPECT_EQ(WantedBy(machine.root(), "timers.target", "a.timer"),
            "/etc/systemd/system/timers.target.wants/a.timer");
  machine.File("dev/null", "");
  machine.Link("etc/systemd/system/a.timer", "dev/null");
  EXPECT_FALSE(WantedBy(machine.root(), "timers.target", "a.timer"));
}

}  // namespace
