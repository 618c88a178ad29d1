// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/unit_files.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

using base::MachineRoot;

// systemd.unit(5): earlier folders win.
constexpr std::array kUnitFolders{"/etc/systemd/system", "/run/systemd/system",
                                  "/usr/local/lib/systemd/system", "/usr/lib/systemd/system",
                                  "/lib/systemd/system"};
constexpr std::array kConfigurationFolders{"/etc/systemd", "/run/systemd", "/usr/lib/systemd"};
constexpr std::size_t kMostUnitBytes = 64 << 10;
// What probes look for. A key that is missing here is read by none.
constexpr auto kKnownKeys = std::to_array<std::string_view>(
    {"AllowSuspend", "HandleLidSwitch", "HandleLidSwitchExternalPower", "IdleAction", "OnActiveSec",
     "OnBootSec", "OnCalendar", "OnStartupSec", "OnUnitActiveSec", "OnUnitInactiveSec",
     "Persistent", "Profile", "RandomizedDelaySec"});

struct Setting {
  std::string_view section;
  std::string_view key;
  std::string_view value;
};

/// Lines that end in a backslash go on in the next, comments between them left out.
template <typename Take>
void ForEachSetting(std::string_view text, Take take) {
  std::string section;
  std::string whole;
  for (const std::string_view part : base::Split(text, '\n')) {
    const std::string_view trimmed = base::Trim(part);
    if (trimmed.starts_with('#') || trimmed.starts_with(';')) {
      continue;  // within a continued line too
    }
    whole += trimmed;
    if (whole.ends_with('\\')) {
      whole.back() = ' ';
      continue;
    }
    const std::string line = std::exchange(whole, "");
    const std::string_view all = line;
    if (line.starts_with('[')) {
      section = line.size() > 2 && line.ends_with(']') ? line.substr(1, line.size() - 2) : "";
      continue;
    }
    const std::size_t equals = line.find('=');
    if (!section.empty() && equals != std::string::npos && equals > 0) {
      take(Setting{section, base::Trim(all.substr(0, equals)), base::Trim(all.substr(equals + 1))});
    }
  }
}

/// Drop-ins by file name; of two with one name the folder that comes first wins.
template <typename Folders>
void AddDropIns(const MachineRoot& root, const Folders& folders, const std::string& name,
                std::vector<UnitText>& texts) {
  std::map<std::string, std::string> files;
  for (const auto& folder : folders) {
    const std::string place = fmt::format("{}/{}.d", folder, name);
    for (const std::string& file : root.List(place).value_or({})) {
      if (file.ends_with(".conf")) {
        files.try_emplace(file, fmt::format("{}/{}", place, file));
      }
    }
  }
  for (const auto& [file, path] : files) {
    if (auto text = root.Read(path, kMostUnitBytes)) {
      texts.push_back({path, KnownSettingsOf(*text)});
    }
  }
}

template <typename Folders>
std::vector<UnitText> ReadWithDropIns(const MachineRoot& root, const Folders& folders,
                                      const std::string& name) {
  std::vector<UnitText> texts;
  for (const auto& folder : folders) {
    const std::string path = fmt::format("{}/{}", folder, name);
    if (auto text = root.Read(path, kMostUnitBytes)) {
      texts.push_back({path, KnownSettingsOf(*text)});
      break;
    }
  }
  AddDropIns(root, folders, name, texts);
  return texts;
}

}  // namespace

SettingLines ParseSection(std::string_view text, std::string_view section) {
  SettingLines lines;
  ForEachSetting(text, [&](const Setting& setting) {
    if (setting.section == section) {
      lines.emplace_back(setting.key, setting.value);
    }
  });
  return lines;
}

std::string KnownSettingsOf(std::string_view text) {
  std::string known;
  std::string last_section;
  ForEachSetting(text, [&](const Setting& setting) {
    if (std::find(kKnownKeys.begin(), kKnownKeys.end(), setting.key) == kKnownKeys.end()) {
      return;
    }
    if (setting.section != last_section) {
      known += fmt::format("[{}]\n", setting.section);
      last_section = setting.section;
    }
    known += fmt::format("{}={}\n", setting.key, setting.value);
  });
  return known.empty() && !base::Trim(text).empty() ? "[Unit]\n" : known;
}

std::vector<UnitText> ReadUnit(const MachineRoot& root, const std::string& unit) {
  return ReadWithDropIns(root, kUnitFolders, unit);
}

std::vector<UnitText> ReadConfiguration(const MachineRoot& root, const std::string& name) {
  return ReadWithDropIns(root, kConfigurationFolders, name);
}

std::optional<ConfiguredChoice> LastChoice(const std::vector<UnitText>& texts,
                                           std::string_view section, std::string_view key) {
  std::optional<ConfiguredChoice> last;
  for (const UnitText& text : texts) {
    for (const auto& [name, value] : ParseSection(text.text, section)) {
      if (name != key) {
        continue;
      }
      if (value.empty()) {
        last.reset();  // an empty value takes back what was set before
      } else {
        last = ConfiguredChoice{base::Printable(value, 80), base::Printable(text.file)};
      }
    }
  }
  return last;
}

bool IsMasked(const MachineRoot& root, const std::string& unit) {
  for (const char* folder : {"/etc/systemd/system", "/run/systemd/system"}) {
    const std::string path = fmt::format("{}/{}", folder, unit);
    if (const auto target = root.Resolve(path)) {
      return *target == "/dev/null" ||
             base::Trim(root.Read(path, kMostUnitBytes).value_or("x")).empty();
    }
  }
  return false;
}

std::optional<std::string> WantedBy(const MachineRoot& root, const std::string& target,
                                    const std::string& unit) {
  if (IsMasked(root, unit)) {
    return std::nullopt;
  }
  for (const char* folder : kUnitFolders) {
    std::string link = fmt::format("{}/{}.wants/{}", folder, target, unit);
    if (root.Exists(link)) {
      return link;
    }
  }
  return std::nullopt;
}

bool HasUnits(const MachineRoot& root) {
  return root.Exists("/usr/lib/systemd/system/timers.target") ||
         root.Exists("/lib/systemd/system/timers.target");
}

bool UnitsRun(const MachineRoot& root) {
  return root.Exists("/run/systemd/system");
}

bool UnitsKnownNotToRun(const MachineRoot& root) {
  return !UnitsRun(root) && (root.live() || root.Exists(kUnitsNotRun));
}

bool IsYes(std::string_view value) {
  std::string lower(value);
  std::transform(lower.begin(), lower.end(), lower.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return lower == "yes" || lower == "true" || lower == "1" || lower == "on" || lower == "y" ||
         lower == "t";
}

}  // namespace probes
