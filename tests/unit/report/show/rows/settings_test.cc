// SPDX-License-Identifier: Apache-2.0
//
// Settings: what is switched off is not what is unknown.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/rows/machine.h"
#include "tests/support/hostile_document.h"
#include "tests/support/shown_part.h"

namespace report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using tests::InFull;
using tests::InShort;

/// A reason of its own for every reading.
probes::SettingsInventory AllUnknown(int& reasons) {
  probes::SettingsInventory settings;
  const auto all = [&reasons](auto&... readings) {
    ((readings =
          std::decay_t<decltype(readings)>::Unknown("reason " + std::to_string(++reasons) + ".")),
     ...);
  };
  all(settings.os, settings.kernel, settings.on_mains, settings.has_battery, settings.power_profile,
      settings.pcie_power_saving, settings.clock_synchronised, settings.file_watchers,
      settings.tuning_profile.value, settings.sleep_states, settings.sleep_target.value,
      settings.idle_action.value, settings.lid_action.value, settings.swap_areas,
      settings.swappiness, settings.clock_keepers, settings.work_timers, settings.idle_states);
  return settings;
}

TEST(SettingsPart, EveryUnknownHasItsReason) {
  int reasons = 0;
  const std::string text = InFull(SettingsPart(AllUnknown(reasons)));
  ASSERT_EQ(reasons, 18);
  for (int number = 1; number <= reasons; ++number) {
    EXPECT_THAT(text, HasSubstr("unknown: reason " + std::to_string(number) + "."));
  }
}

TEST(SettingsPart, LeavesWhatIsUnknownOfTheRarerOnesToTheLongForm) {
  int reasons = 0;
  const auto settings = AllUnknown(reasons);
  EXPECT_THAT(InShort(SettingsPart(settings)),
              AllOf(HasSubstr("file watchers"), Not(HasSubstr("swappiness"))));
}

TEST(SettingsPart, ListsThatWereReadAndAreEmptyAreNone) {
  probes::SettingsInventory settings;
  settings.file_watchers = std::vector<probes::FileWatcher>();
  settings.swap_areas = std::vector<probes::SwapArea>();
  settings.clock_keepers = std::vector<probes::ClockKeeper>();
  settings.work_timers = std::vector<probes::WorkTimer>();
  settings.idle_states = std::vector<probes::CpuIdleState>();
  EXPECT_THAT(
      InShort(SettingsPart(settings)),
      AllOf(HasSubstr("file watchers none"), HasSubstr("swap to none"),
            HasSubstr("clock by no program"), HasSubstr("timers none that start updates or upkeep"),
            HasSubstr("idle states none")));
}

TEST(SettingsPart, APcWithoutALidHasNoActionOfOne) {
  probes::SettingsInventory settings;
  settings.has_lid = false;
  settings.lid_action.value = std::string("suspend");
  EXPECT_THAT(InFull(SettingsPart(settings)), HasSubstr("lid closed no lid"));
  settings.has_lid = true;
  EXPECT_THAT(InFull(SettingsPart(settings)),
              HasSubstr("lid closed suspend (no file says otherwise)"));
}

TEST(SettingsPart, TakesNoEscapeCodesFromNames) {
  for (int number = 0; number < 8; ++number) {
    probes::SettingsInventory settings;
    settings.os = HostileText(number);
    settings.tuning_profile = {HostileText(number), HostileText(number)};
    settings.swap_areas = std::vector<probes::SwapArea>{
        {HostileText(number), "file", 1000, 0, {HostileText(number)}}};
    settings.file_watchers = std::vector<probes::FileWatcher>{{HostileText(number), 812}};
    const std::string text = InFull(SettingsPart(settings));
    EXPECT_THAT(text, AllOf(HasSubstr("(812)"), HasSubstr("0 B of 1.00 kB in use")));
    EXPECT_THAT(text, AllOf(Not(HasSubstr("\x1b")), Not(HasSubstr("\xE2\x80\xAE")),
                            Not(HasSubstr("\xFF"))));
  }
}

}  // namespace
}  // namespace report
