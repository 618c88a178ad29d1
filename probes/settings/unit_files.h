// SPDX-License-Identifier: Apache-2.0
//
// The files that tell a service manager what to start: where a unit is, whether it is on.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/settings.h"

namespace probes {

/// Keys and values of one section, in order. Lines that end in a backslash go
/// on in the next; "#" and ";" open comments (systemd.syntax(7)).
using SettingLines = std::vector<std::pair<std::string, std::string>>;
SettingLines ParseSection(std::string_view text, std::string_view section);

/// The settings of `text` that some probe reads, each below its section's heading, without comments
/// and whatever else a unit holds: commands, variables and passwords of a program. Never empty
/// where `text` has anything, because an empty unit is one that is off.
std::string KnownSettingsOf(std::string_view text);

/// A unit's own file and then its drop-ins, each as the text of its known settings with its path,
/// those that override others last.
struct UnitText {
  std::string file;
  std::string text;
};
std::vector<UnitText> ReadUnit(const base::MachineRoot& root, const std::string& unit);

/// A configuration file such as "logind.conf" with its drop-ins, which
/// override it: /etc over /run over /usr, then by name.
std::vector<UnitText> ReadConfiguration(const base::MachineRoot& root, const std::string& name);

/// The last value of `key` in `section`, and where it stands; nothing when none sets it.
std::optional<ConfiguredChoice> LastChoice(const std::vector<UnitText>& texts,
                                           std::string_view section, std::string_view key);

/// Whether a unit can never start: linked to /dev/null, or an empty file.
bool IsMasked(const base::MachineRoot& root, const std::string& unit);

/// The link that makes `target` want `unit` ("/etc/.../timers.target.wants/X");
/// nothing when the unit is off or masked.
std::optional<std::string> WantedBy(const base::MachineRoot& root, const std::string& target,
                                    const std::string& unit);

/// Whether this machine's files are those of such a service manager.
bool HasUnits(const base::MachineRoot& root);

/// Whether that service manager runs them here: sd_booted(3) looks for this folder. Elsewhere
/// (a container, another manager) its files lie about and start nothing.
bool UnitsRun(const base::MachineRoot& root);
/// Whether it is known that it runs none: of this PC always, of a captured machine where the folder
/// kUnitsNotRun was written into it.
bool UnitsKnownNotToRun(const base::MachineRoot& root);
inline constexpr const char* kUnitsNotRun = "/captured/units-not-run";

/// "yes", "true", "1", "on" in any case (systemd.syntax(7)).
bool IsYes(std::string_view value);

}  // namespace probes
