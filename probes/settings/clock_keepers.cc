// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/clock_keepers.h"

#include <array>
#include <optional>
#include <string>

#include "probes/settings/unit_files.h"

namespace probes {
namespace {

struct Keeper {
  const char* name;
  std::array<const char*, 3> units;  // the names that systems give it
  const char* target;
  const char* run_file;  // written while it runs; "" = none
};

// Where Debian's and Fedora's packages put them (from memory).
constexpr std::array kKeepers{
    Keeper{"systemd-timesyncd",
           {"systemd-timesyncd.service", "", ""},
           "sysinit.target",
           "/run/systemd/timesync/synchronized"},
    Keeper{"chrony",
           {"chrony.service", "chronyd.service", ""},
           "multi-user.target",
           "/run/chrony/chronyd.pid"},
    Keeper{"ntp",
           {"ntpsec.service", "ntp.service", "ntpd.service"},
           "multi-user.target",
           "/run/ntpd.pid"},
    Keeper{"openntpd", {"openntpd.service", "", ""}, "multi-user.target", ""},
    Keeper{"ptp4l", {"ptp4l.service", "", ""}, "multi-user.target", ""},
    Keeper{"phc2sys", {"phc2sys.service", "", ""}, "multi-user.target", ""},
};

std::optional<std::string> SwitchedOn(const base::MachineRoot& root, const Keeper& keeper) {
  for (const std::string unit : keeper.units) {
    if (!unit.empty()) {
      if (auto link = WantedBy(root, keeper.target, unit)) {
        return link;
      }
    }
  }
  return std::nullopt;
}

}  // namespace

base::Reading<std::vector<ClockKeeper>> ReadClockKeepers(const base::MachineRoot& root) {
  if (!HasUnits(root)) {
    return base::Reading<std::vector<ClockKeeper>>::Unknown("no folder of service units here");
  }
  const bool started = !UnitsKnownNotToRun(root);
  std::vector<ClockKeeper> keepers;
  for (const Keeper& keeper : kKeepers) {
    const std::string run_file = keeper.run_file;
    const bool running = !run_file.empty() && root.Exists(run_file);
    const auto link = started ? SwitchedOn(root, keeper) : std::nullopt;
    if (running || link) {
      keepers.push_back({keeper.name, running ? run_file : *link, running});
    }
  }
  return keepers;
}

}  // namespace probes
