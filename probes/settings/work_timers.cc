// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/work_timers.h"

#include <array>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/settings/unit_files.h"

namespace probes {
namespace {

using base::MachineRoot;

struct KnownTimer {
  const char* unit;
  const char* work;
  const char* apt_key;  // of APT::Periodic, that leaves it something to do; "" = none
};

constexpr const char* kUpdates = "updates";
constexpr const char* kUpkeep = "disk upkeep";
constexpr const char* kIndex = "file index";

// Units of Debian's, Ubuntu's, Fedora's and openSUSE's packages (from memory).
constexpr std::array kTimers{
    KnownTimer{"apt-daily.timer", kUpdates, "Update-Package-Lists"},
    KnownTimer{"apt-daily-upgrade.timer", kUpdates, "Unattended-Upgrade"},
    KnownTimer{"dnf-makecache.timer", kUpdates, ""},
    KnownTimer{"dnf-automatic.timer", kUpdates, ""},
    KnownTimer{"dnf-automatic-install.timer", kUpdates, ""},
    KnownTimer{"dnf-automatic-download.timer", kUpdates, ""},
    KnownTimer{"dnf5-automatic.timer", kUpdates, ""},
    KnownTimer{"packagekit-background.timer", kUpdates, ""},
    KnownTimer{"rpm-ostreed-automatic.timer", kUpdates, ""},
    KnownTimer{"transactional-update.timer", kUpdates, ""},
    KnownTimer{"update-notifier-download.timer", kUpdates, ""},
    KnownTimer{"fwupd-refresh.timer", kUpdates, ""},
    KnownTimer{"snapd.snap-repair.timer", kUpdates, ""},
    KnownTimer{"fstrim.timer", kUpkeep, ""},
    KnownTimer{"e2scrub_all.timer", kUpkeep, ""},
    KnownTimer{"xfs_scrub_all.timer", kUpkeep, ""},
    KnownTimer{"btrfs-scrub.timer", kUpkeep, ""},
    KnownTimer{"btrfs-balance.timer", kUpkeep, ""},
    KnownTimer{"mdcheck_start.timer", kUpkeep, ""},
    KnownTimer{"raid-check.timer", kUpkeep, ""},
    KnownTimer{"plocate-updatedb.timer", kIndex, ""},
    KnownTimer{"mlocate-updatedb.timer", kIndex, ""},
    KnownTimer{"updatedb.timer", kIndex, ""},
    KnownTimer{"man-db.timer", kIndex, ""},
};

// The two files that Debian's packages write; others may set the same.
constexpr std::array kAptFiles{"/etc/apt/apt.conf.d/10periodic",
                               "/etc/apt/apt.conf.d/20auto-upgrades"};

/// Every "When...=" of the [Timer] section: an empty value takes back those before.
void AddWhen(const std::vector<UnitText>& texts, WorkTimer& timer) {
  std::vector<std::string> when;
  for (const UnitText& text : texts) {
    for (const auto& [key, value] : ParseSection(text.text, "Timer")) {
      const bool names_a_time = key == "OnCalendar" || key == "OnBootSec" ||
                                key == "OnStartupSec" || key == "OnActiveSec" ||
                                key == "OnUnitActiveSec" || key == "OnUnitInactiveSec";
      if (!names_a_time) {
        continue;
      }
      if (value.empty()) {
        when.clear();
      } else {
        when.push_back(fmt::format("{}={}", key, base::Printable(value, 80)));
      }
    }
  }
  for (const std::string& one : when) {
    timer.when += (timer.when.empty() ? "" : ", ") + one;
  }
}

/// /usr/lib/apt/apt.systemd.daily: nothing is done where the key is absent or "0",
/// or where APT::Periodic::Enable is "0".
void AddAptSetting(const MachineRoot& root, const std::string& key, WorkTimer& timer) {
  timer.idle = true;
  timer.setting = fmt::format("APT::Periodic::{} is in neither {} nor {}: nothing to do by default",
                              key, kAptFiles[0], kAptFiles[1]);
  for (const std::string file : kAptFiles) {  // later files override earlier ones
    const std::string text = root.Read(file, 64 << 10).value_or("");
    if (const auto value = ParseAptPeriodic(text, key)) {
      timer.idle = *value == "0" || value->empty();
      timer.setting = fmt::format("APT::Periodic::{} is \"{}\" in {}", key, *value, file);
    }
    if (const auto enabled = ParseAptPeriodic(text, "Enable"); enabled && *enabled == "0") {
      timer.idle = true;
      timer.setting = fmt::format("APT::Periodic::Enable is \"0\" in {}", file);
      return;
    }
  }
}

WorkTimer ReadTimer(const MachineRoot& root, const KnownTimer& known) {
  const std::vector<UnitText> texts = ReadUnit(root, known.unit);
  WorkTimer timer;
  timer.unit = known.unit;
  timer.work = known.work;
  AddWhen(texts, timer);
  if (const auto delay = LastChoice(texts, "Timer", "RandomizedDelaySec")) {
    timer.delay = *delay->value;
  }
  const auto persistent = LastChoice(texts, "Timer", "Persistent");
  timer.catches_up = persistent && IsYes(*persistent->value);
  if (*known.apt_key != '\0') {
    AddAptSetting(root, known.apt_key, timer);
  }
  return timer;
}

}  // namespace

std::optional<std::string> ParseAptPeriodic(std::string_view text, std::string_view key) {
  std::optional<std::string> value;
  const std::string wanted = fmt::format("APT::Periodic::{}", key);
  for (const std::string_view line : base::Split(text, '\n')) {
    const std::string_view trimmed = base::Trim(line);
    if (!trimmed.starts_with(wanted)) {
      continue;
    }
    const std::string_view rest = base::Trim(trimmed.substr(wanted.size()));
    const std::size_t end = rest.find(';');
    if (end == std::string_view::npos || rest.size() == trimmed.size() - wanted.size()) {
      continue;  // no end of the statement, or a longer key
    }
    std::string_view word = base::Trim(rest.substr(0, end));
    if (word.size() >= 2 && word.front() == '"' && word.back() == '"') {
      word = word.substr(1, word.size() - 2);
    }
    value = base::Printable(word, 20);
  }
  return value;
}

base::Reading<std::vector<WorkTimer>> ReadWorkTimers(const MachineRoot& root) {
  if (!HasUnits(root)) {
    return base::Reading<std::vector<WorkTimer>>::Unknown("no folder of service units here");
  }
  if (!UnitsRun(root)) {
    return UnitsKnownNotToRun(root)
               ? base::Reading<std::vector<WorkTimer>>(std::vector<WorkTimer>{})
               : base::Reading<std::vector<WorkTimer>>::Unknown(
                     "the captured machine does not tell whether its units are run");
  }
  std::vector<WorkTimer> timers;
  for (const KnownTimer& known : kTimers) {
    if (WantedBy(root, "timers.target", known.unit)) {
      timers.push_back(ReadTimer(root, known));
    }
  }
  return timers;
}

}  // namespace probes
