// SPDX-License-Identifier: Apache-2.0
//
// Names on the command line to values.

#include "cli/inputs.h"

#include <string>
#include <system_error>
#include <utility>

#include "profiles/reader.h"
#include "profiles/starters.h"

namespace cli {

base::Result<ChosenProfile> ReadChosenProfile(const Options& options) {
  const std::filesystem::path name =
      options.profile.empty() ? std::string(profiles::DefaultStarterName()) : options.profile;
  auto profile = profiles::ReadProfile(name);
  if (!profile) {
    // Whatever is wrong with it, the user named it.
    return base::Error{base::ErrorKind::kInvalid, profile.error().where, profile.error().detail};
  }
  std::error_code none;
  const bool is_file = std::filesystem::exists(name, none);
  return ChosenProfile{*std::move(profile), name, is_file ? name.parent_path() : "."};
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
