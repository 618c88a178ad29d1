// SPDX-License-Identifier: Apache-2.0
//
// What a PC does by itself: sleep, timers, clock keepers, idle states, as files of a made machine.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/captured/capture_machine.h"
#include "probes/captured/open_machine.h"
#include "probes/cpu/idle.h"
#include "probes/settings/clock_keepers.h"
#include "probes/settings/settings.h"
#include "probes/settings/sleep_settings.h"
#include "probes/settings/work_timers.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::Reading;
using probes::ParseAptPeriodic;
using probes::SettingsInventory;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

constexpr const char* kTimersTarget = "usr/lib/systemd/system/timers.target";

SettingsInventory SleepOf(const tests::UsbMadeMachine& machine) {
  SettingsInventory settings;
  probes::ReadSleepSettings(machine.root(), settings);
  return settings;
}

TEST(ReadSleepSettings, WithoutServiceUnitsNothingIsKnown) {
  const tests::UsbMadeMachine machine;
  const SettingsInventory settings = SleepOf(machine);
  EXPECT_FALSE(settings.sleep_states);
  EXPECT_FALSE(settings.sleep_target.value);
  EXPECT_FALSE(settings.idle_action.value);
  EXPECT_FALSE(settings.lid_action.value);
  EXPECT_FALSE(settings.has_lid);
}

// Values where no file sets any: logind.conf(5), IdleAction= and HandleLidSwitch=.
TEST(ReadSleepSettings, WhatIsDocumentedHoldsWhereNoFileSaysOtherwise) {
  tests::UsbMadeMachine machine;
  machine.File(kTimersTarget, "[Unit]\n");
  machine.File("usr/lib/systemd/system/systemd-logind.service", "[Unit]\n");
  machine.File("etc/systemd/logind.conf", "[Login]\n#IdleAction=suspend\n");
  machine.File("sys/power/state", "freeze mem disk\n");
  machine.Folder("sys/bus/acpi/devices/PNP0C0D:00");
  const SettingsInventory settings = SleepOf(machine);
  EXPECT_EQ(settings.idle_action.value, Reading<std::string>("ignore"));
  EXPECT_EQ(settings.idle_action.file, "");
  EXPECT_EQ(settings.lid_action.value, Reading<std::string>("suspend"));
  EXPECT_EQ(settings.sleep_target.value, Reading<std::string>("allowed"));
  EXPECT_THAT(*settings.sleep_states, ElementsAre("freeze", "mem", "disk"));
  EXPECT_EQ(settings.has_lid, Reading<bool>(true));
}

TEST(ReadSleepSettings, ADropInOverridesTheFile) {
  tests::UsbMadeMachine machine;
  machine.File(kTimersTarget, "[Unit]\n");
  machine.File("lib/systemd/system/systemd-logind.service", "[Unit]\n");
  machine.File("etc/systemd/logind.conf", "[Login]\nIdleAction=lock\nHandleLidSwitch=suspend\n");
  machine.File("etc/systemd/logind.conf.d/show.conf",
               "[Login]\nIdleAction=suspend\nHandleLidSwitchExternalPower=ignore\n");
  machine.Folder("sys/bus/acpi/devices");
  const SettingsInventory settings = SleepOf(machine);
  EXPECT_EQ(settings.idle_action.value, Reading<std::string>("suspend"));
  EXPECT_EQ(settings.idle_action.file, "/etc/systemd/logind.conf.d/show.conf");
  EXPECT_EQ(settings.lid_action.value, Reading<std::string>("ignore"));
  EXPECT_EQ(settings.has_lid, Reading<bool>(false));
}

TEST(ReadSleepSettings, SleepIsForbiddenByAMaskOrAFile) {
  tests::UsbMadeMachine machine;
  machine.File(kTimersTarget, "[Unit]\n");
  machine.File("etc/systemd/sleep.conf", "[Sleep]\nAllowSuspend=no\n");
  EXPECT_EQ(SleepOf(machine).sleep_target.value, Reading<std::string>("masked"));
  EXPECT_EQ(SleepOf(machine).sleep_target.file, "/etc/systemd/sleep.conf");
  machine.File("dev/null", "");
  machine.Link("etc/systemd/system/suspend.target", "dev/null");
  EXPECT_EQ(SleepOf(machine).sleep_target.file, "/etc/systemd/system/suspend.target");
}

// apt.conf(5); the keys: /usr/lib/apt/apt.systemd.daily.
TEST(ParseAptPeriodic, TakesTheLastStatementOfTheKey) {
  const char* text =
      "// APT::Periodic::Enable \"0\";\nAPT::Periodic::Update-Package-Lists \"1\";\n"
      "APT::Periodic::Unattended-Upgrade \"0\";\nAPT::Periodic::Unattended-Upgrade 7;\n";
  EXPECT_EQ(ParseAptPeriodic(text, "Update-Package-Lists"), "1");
  EXPECT_EQ(ParseAptPeriodic(text, "Unattended-Upgrade"), "7");
  EXPECT_FALSE(ParseAptPeriodic(text, "Enable"));
  EXPECT_FALSE(ParseAptPeriodic(text, "Unattended"));
  EXPECT_FALSE(ParseAptPeriodic("APT::Periodic::Enable \"0\"", "Enable"));
  EXPECT_FALSE(ParseAptPeriodic("", "Enable"));
}

void AddTimer(tests::UsbMadeMachine& machine, const std::string& unit, const std::string& text) {
  machine.File(kTimersTarget, "[Unit]\n");
  machine.Folder("run/systemd/system");
  machine.File("usr/lib/systemd/system/" + unit, text);
  machine.Link("etc/systemd/system/timers.target.wants/" + unit, "usr/lib/systemd/system/" + unit);
}

TEST(ReadWorkTimers, TellsWhenAndWhetherThereIsAnythingToDo) {
  tests::UsbMadeMachine machine;
  // As Debian 12's package apt has it.
  AddTimer(
      machine, "apt-daily.timer",
      "[Unit]\nDescription=Daily apt download activities\n\n[Timer]\nOnCalendar=*-*-* 6,18:00\n"
      "RandomizedDelaySec=12h\nPersistent=true\n");
  AddTimer(machine, "fstrim.timer", "[Timer]\nOnCalendar=weekly\nOnCalendar=\nOnBootSec=5min\n");
  auto timers = probes::ReadWorkTimers(machine.root());
  ASSERT_TRUE(timers);
  ASSERT_THAT(*timers, SizeIs(2));
  const probes::WorkTimer& apt = (*timers)[0];
  EXPECT_EQ(apt.unit, "apt-daily.timer");
  EXPECT_EQ(apt.work, "updates");
  EXPECT_EQ(apt.when, "OnCalendar=*-*-* 6,18:00");
  EXPECT_EQ(apt.delay, "12h");
  EXPECT_TRUE(apt.catches_up);
  EXPECT_TRUE(apt.idle);
  EXPECT_THAT(apt.setting, HasSubstr("Update-Package-Lists is in neither"));
  EXPECT_EQ((*timers)[1].when, "OnBootSec=5min");
  EXPECT_EQ((*timers)[1].work, "disk upkeep");
  EXPECT_FALSE((*timers)[1].idle);
  machine.File("etc/apt/apt.conf.d/20auto-upgrades",
               "APT::Periodic::Update-Package-Lists \"1\";\n");
  timers = probes::ReadWorkTimers(machine.root());
  EXPECT_FALSE((*timers)[0].idle);
  EXPECT_THAT((*timers)[0].setting, HasSubstr("20auto-upgrades"));
}

TEST(ReadWorkTimers, NoneIsAnAnswerOnlyWhereThereAreUnits) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(probes::ReadWorkTimers(machine.root()));
  machine.File(kTimersTarget, "[Unit]\n");
  machine.Folder("run/systemd/system");
  const auto timers = probes::ReadWorkTimers(machine.root());
  ASSERT_TRUE(timers);
  EXPECT_THAT(*timers, IsEmpty());
}

// sd_booted(3): the folder is there where this service manager was started.
TEST(ReadWorkTimers, CountOnlyWhereTheServiceManagerRuns) {
  tests::UsbMadeMachine machine;
  machine.File(kTimersTarget, "[Unit]\n");
  machine.File("usr/lib/systemd/system/fstrim.timer", "[Timer]\nOnCalendar=weekly\n");
  machine.Link("etc/systemd/system/timers.target.wants/fstrim.timer",
               "usr/lib/systemd/system/fstrim.timer");
  const auto unknown = probes::ReadWorkTimers(machine.root());
  EXPECT_FALSE(unknown.known());
  EXPECT_THAT(unknown.why_unknown(), HasSubstr("does not tell whether its units are run"));
  machine.Folder("run/systemd/system");
  EXPECT_THAT(*probes::ReadWorkTimers(machine.root()), SizeIs(1));
}

TEST(ReadClockKeepers, FindsThoseThatAreOnOrRun) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(probes::ReadClockKeepers(machine.root()));
  machine.File(kTimersTarget, "[Unit]\n");
  EXPECT_THAT(*probes::ReadClockKeepers(machine.root()), IsEmpty());
  machine.File("lib/systemd/system/systemd-timesyncd.service", "[Unit]\n");
  machine.Link("etc/systemd/system/sysinit.target.wants/systemd-timesyncd.service",
               "lib/systemd/system/systemd-timesyncd.service");
  machine.File("run/chrony/chronyd.pid", "123\n");
  const auto keepers = probes::ReadClockKeepers(machine.root());
  ASSERT_THAT(*keepers, SizeIs(2));
  EXPECT_EQ((*keepers)[0].name, "systemd-timesyncd");
  EXPECT_FALSE((*keepers)[0].running);
  EXPECT_EQ((*keepers)[1].name, "chrony");
  EXPECT_TRUE((*keepers)[1].running);
  EXPECT_EQ((*keepers)[1].file, "/run/chrony/chronyd.pid");
}

// https://docs.kernel.org/admin-guide/pm/cpuidle.html: name, latency (us), disable.
TEST(ReadIdleStates, ReadsTheFirstCpusStates) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(probes::ReadIdleStates(machine.root()));
  const std::string folder = "sys/devices/system/cpu/cpu0/cpuidle/";
  machine.File(folder + "state0/name", "POLL\n");
  machine.File(folder + "state0/latency", "0\n");
  machine.File(folder + "state1/name", "C10\n");
  machine.File(folder + "state1/latency", "890\n");
  machine.File(folder + "state1/disable", "1\n");
  const auto states = probes::ReadIdleStates(machine.root());
  ASSERT_TRUE(states);
  ASSERT_THAT(*states, SizeIs(2));
  EXPECT_EQ((*states)[0].name, "POLL");
  EXPECT_FALSE((*states)[0].disabled);
  EXPECT_EQ((*states)[1].exit_latency_us, 890);
  EXPECT_TRUE((*states)[1].disabled);
}

TEST(ReadSettings, ReadsATuningProfile) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(probes::ReadSettings(machine.root()).tuning_profile.value);
  machine.File("var/lib/power-profiles-daemon/state.ini", "[State]\nProfile=power-saver\n");
  EXPECT_EQ(probes::ReadSettings(machine.root()).tuning_profile.value,
            Reading<std::string>("power-saver"));
  machine.File("etc/tuned/active_profile", "latency-performance\n");
  const auto settings = probes::ReadSettings(machine.root());
  EXPECT_EQ(settings.tuning_profile.value, Reading<std::string>("latency-performance"));
  EXPECT_EQ(settings.tuning_profile.file, "/etc/tuned/active_profile");
}

// The archive must hold whatever these readers look at, a mask above all.
TEST(CapturedSettings, ReadAsOnTheMachineItself) {
  tests::UsbMadeMachine machine;
  AddTimer(machine, "apt-daily.timer", "[Timer]\nOnCalendar=daily\n");
  machine.File("etc/apt/apt.conf.d/20auto-upgrades",
               "APT::Periodic::Update-Package-Lists \"1\";\nAcquire::http::Proxy \"secret\";\n");
  machine.File("dev/null", "");
  machine.Link("etc/systemd/system/sleep.target", "dev/null");
  machine.File("usr/lib/systemd/system/systemd-logind.service", "[Unit]\n");
  machine.File("etc/systemd/logind.conf", "[Login]\nIdleAction=suspend\n");
  machine.File("proc/swaps", "Filename Type Size Used Priority\n/swap file 8 0 -2\n");
  machine.File("sys/power/state", "mem\n");
  machine.Folder("sys/bus/acpi/devices/PNP0C0D:00");
  const auto folder = probes::TemporaryFolder::Make();
  const auto archive = folder->path() / "machine.tar.gz";
  ASSERT_TRUE(probes::CaptureMachine(machine.root(), archive));
  const auto opened = probes::OpenMachine(archive);
  ASSERT_TRUE(opened) << opened.error().detail;
  const auto own = probes::ReadSettings(machine.root());
  const auto stored = probes::ReadSettings(opened->root);
  EXPECT_EQ(stored.sleep_target.value, Reading<std::string>("masked"));
  EXPECT_EQ(stored.sleep_target.value, own.sleep_target.value);
  EXPECT_EQ(stored.idle_action.value, own.idle_action.value);
  EXPECT_EQ(stored.sleep_states, own.sleep_states);
  EXPECT_EQ(stored.has_lid, own.has_lid);
  ASSERT_TRUE(stored.work_timers);
  ASSERT_THAT(*stored.work_timers, SizeIs(1));
  EXPECT_EQ((*stored.work_timers)[0].setting, (*own.work_timers)[0].setting);
  ASSERT_TRUE(stored.swap_areas);
  EXPECT_THAT(*stored.swap_areas, SizeIs(1));
  EXPECT_THAT(*opened->root.Read("/etc/apt/apt.conf.d/20auto-upgrades"),
              testing::Not(HasSubstr("secret")));
}

}  // namespace
