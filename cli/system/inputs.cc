// SPDX-License-Identifier: Apache-2.0
//
// Names on the command line to values.

#include "cli/system/inputs.h"

#include <cstddef>
#include <string>
#include <system_error>
#include <utility>

#include "cli/system/outcome.h"
#include "profiles/text/reader.h"
#include "profiles/text/starters.h"

namespace cli {

base::Result<ChosenProfile> ReadChosenProfile(const Options& options) {
  const std::filesystem::path name =
      options.profile.empty() ? std::string(profiles::DefaultStarterName()) : options.profile;
  profiles::ProfileReading reading = profiles::ReadWholeProfile(name);
  if (!reading.profile) {
    // The last one is told by whoever ends the program. Whatever is wrong, the user named it.
    for (std::size_t i = 0; i + 1 < reading.mistakes.size(); ++i) {
      Complain(ErrorLine(reading.mistakes[i]));
    }
    const base::Error& last = reading.mistakes.back();
    return base::Error{base::ErrorKind::kInvalid, last.where, last.detail};
  }
  std::error_code none;
  const bool is_file = std::filesystem::exists(name, none);
  return ChosenProfile{*std::move(reading.profile), name, is_file ? name.parent_path() : "."};
}

base::Result<probes::OpenedMachine> OpenChosenMachine(const Options& options) {
  if (options.machine.empty()) {
    return probes::OpenedMachine{base::MachineRoot::Live(), {}};
  }
  auto machine = probes::OpenMachine(options.machine);
  if (!machine) {
    return base::Error{base::ErrorKind::kInvalid, machine.error().where, machine.error().detail};
  }
  return machine;
}

}  // namespace cli
