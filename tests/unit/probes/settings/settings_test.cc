// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/settings.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/settings/file_watchers.h"
#include "probes/settings/setting_texts.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::Reading;
using probes::ParseBracketed;
using probes::ParsePrettyName;
using probes::ReadFileWatchers;
using probes::ReadSettings;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

// Quoting rules: os-release(5).
TEST(ParsePrettyName, UndoesTheQuotes) {
  EXPECT_EQ(ParsePrettyName("NAME=Made\nPRETTY_NAME=\"Made OS 12 (test)\"\n"), "Made OS 12 (test)");
  EXPECT_EQ(ParsePrettyName("PRETTY_NAME='Made OS'\n"), "Made OS");
  EXPECT_EQ(ParsePrettyName("PRETTY_NAME=Made\n"), "Made");
  EXPECT_EQ(ParsePrettyName("PRETTY_NAME=\"a\\\"b\\$c\"\n"), "a\"b$c");
  EXPECT_EQ(ParsePrettyName("PRETTY_NAME=\"\n"), "\"");
}

TEST(ParsePrettyName, NothingWhenItIsNotThere) {
  EXPECT_FALSE(ParsePrettyName(""));
  EXPECT_FALSE(ParsePrettyName("PRETTY_NAME=\n"));
  EXPECT_FALSE(ParsePrettyName("XPRETTY_NAME=a\n"));
}

TEST(ParseBracketed, FindsTheChoice) {
  EXPECT_EQ(ParseBracketed("[default] performance powersave powersupersave\n"), "default");
  EXPECT_EQ(ParseBracketed("default performance [powersave]\n"), "powersave");
  for (const char* text : {"", "default", "[", "]", "][", "[]"}) {
    EXPECT_FALSE(ParseBracketed(text)) << text;
  }
}

TEST(ReadSettings, ReadsWhatThereIs) {
  tests::UsbMadeMachine machine;
  machine.File("usr/lib/os-release", "PRETTY_NAME=\"Made OS\"\n");
  machine.Link("etc/os-release", "usr/lib/os-release");
  machine.File("proc/sys/kernel/osrelease", "6.1.0-made\n");
  machine.File("sys/firmware/acpi/platform_profile", "balanced\n");
  machine.File("sys/module/pcie_aspm/parameters/policy", "default [powersave]\n");
  const auto settings = ReadSettings(machine.root());
  EXPECT_EQ(settings.os, Reading<std::string>("Made OS"));
  EXPECT_EQ(settings.kernel, Reading<std::string>("6.1.0-made"));
  EXPECT_EQ(settings.power_profile, Reading<std::string>("balanced"));
  EXPECT_EQ(settings.pcie_power_saving, Reading<std::string>("powersave"));
  EXPECT_THAT(settings.clock_synchronised.why_unknown(), HasSubstr("captured"));
  EXPECT_THAT(settings.on_mains.why_unknown(), HasSubstr("power_supply"));
}

TEST(ReadSettings, TheKernelsVersionTextWillDo) {
  tests::UsbMadeMachine machine;
  machine.File("proc/version", "Linux version 6.2.0-made (someone) #1\n");
  EXPECT_EQ(ReadSettings(machine.root()).kernel, Reading<std::string>("6.2.0-made"));
  machine.File("proc/version", "Something else\n");
  EXPECT_FALSE(ReadSettings(machine.root()).kernel);
}

/// type and online of /sys/class/power_supply:
/// https://docs.kernel.org/power/power_supply_class.html
TEST(ReadSettings, ALaptopOnItsBattery) {
  tests::UsbMadeMachine machine;
  machine.File("sys/class/power_supply/AC/type", "Mains\n");
  machine.File("sys/class/power_supply/AC/online", "0\n");
  machine.File("sys/class/power_supply/BAT0/type", "Battery\n");
  machine.File("sys/class/power_supply/BAT0/status", "Discharging\n");
  const auto settings = ReadSettings(machine.root());
  EXPECT_EQ(settings.on_mains, Reading<bool>(false));
  EXPECT_EQ(settings.has_battery, Reading<bool>(true));
}

TEST(ReadSettings, ABatteryAloneTellsByItsStatus) {
  tests::UsbMadeMachine machine;
  machine.File("sys/class/power_supply/BAT0/type", "Battery\n");
  machine.File("sys/class/power_supply/BAT0/status", "Charging\n");
  EXPECT_EQ(ReadSettings(machine.root()).on_mains, Reading<bool>(true));
  machine.File("sys/class/power_supply/BAT0/status", "Discharging\n");
  EXPECT_EQ(ReadSettings(machine.root()).on_mains, Reading<bool>(false));
}

TEST(ReadSettings, ASupplyThatDoesNotTellIsNeitherOnNorOff) {
  tests::UsbMadeMachine machine;
  machine.File("sys/class/power_supply/AC/type", "Mains\n");
  EXPECT_FALSE(ReadSettings(machine.root()).on_mains.known());
  machine.File("sys/class/power_supply/BAT0/type", "Battery\n");
  EXPECT_FALSE(ReadSettings(machine.root()).on_mains.known());
  machine.File("sys/class/power_supply/BAT0/status", "Unknown\n");
  EXPECT_FALSE(ReadSettings(machine.root()).on_mains.known());
}

TEST(ReadSettings, AMousesBatteryIsNotThePcs) {
  tests::UsbMadeMachine machine;
  machine.File("sys/class/power_supply/mouse/type", "Battery\n");
  machine.File("sys/class/power_supply/mouse/scope", "Device\n");
  const auto settings = ReadSettings(machine.root());
  EXPECT_EQ(settings.has_battery, Reading<bool>(false));
  EXPECT_THAT(settings.on_mains.why_unknown(), HasSubstr("no power supply"));
}

// The line's form: https://docs.kernel.org/filesystems/proc.html, section 3.8.
constexpr const char* kFanotify =
    "pos:\t0\nflags:\t02\nmnt_id:\t9\nino:\t63\nfanotify flags:10 event-flags:0\n"
    "fanotify mnt_id:12 mflags:40 mask:38 ignored_mask:40000003\n";

TEST(ReadFileWatchers, FindsTheHolderOfAFanotifyGroup) {
  tests::UsbMadeMachine machine;
  machine.File("proc/7/fdinfo/0", "pos:\t0\nflags:\t02\n");
  machine.File("proc/7/fdinfo/5", kFanotify);
  machine.File("proc/7/comm", "made\x1bscan\n");
  machine.File("proc/8/fdinfo/0", "pos:\t0\ninotify wd:1 ino:2\n");
  const auto watchers = ReadFileWatchers(machine.root());
  ASSERT_TRUE(watchers);
  ASSERT_THAT(*watchers, SizeIs(1));
  EXPECT_EQ((*watchers)[0].pid, 7);
  EXPECT_EQ((*watchers)[0].process, "made\\x1Bscan");
}

TEST(ReadFileWatchers, NoneFoundIsAnAnswerWhenProcessesWereLookedInto) {
  tests::UsbMadeMachine machine;
  machine.Folder("proc/1/fdinfo");
  const auto watchers = ReadFileWatchers(machine.root());
  ASSERT_TRUE(watchers);
  EXPECT_THAT(*watchers, IsEmpty());
}

TEST(ReadFileWatchers, WithoutProcessesItIsUnknown) {
  tests::UsbMadeMachine machine;
  machine.File("proc/cpuinfo", "\n");
  EXPECT_THAT(ReadFileWatchers(machine.root()).why_unknown(), HasSubstr("no process"));
}

}  // namespace
