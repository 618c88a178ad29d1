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

std::filesystem::path ChosenRecordFolder(const Options& options) {
  if (!options.machine.empty()) {
    return options.record_folder.empty() ? "/" : options.record_folder;
  }
  const std::filesystem::path named = options.record_folder.empty() ? "." : options.record_folder;
  std::error_code error;
  const std::filesystem::path whole = std::filesystem::weakly_canonical(named, error);
  return error ? named : whole;
}

base::Status CheckFoldersExist(const std::vector<std::filesystem::path>& folders) {
  for (const std::filesystem::path& folder : folders) {
    std::error_code error;
    const auto kind = std::filesystem::status(folder, error).type();
    if (kind != std::filesystem::file_type::directory) {
      const bool missing = kind == std::filesystem::file_type::not_found;
      return base::Error{base::ErrorKind::kInvalid, folder.string(),
                         std::string(missing ? "the folder does not exist" : "not a folder") +
                             "; allowed for recordings: a folder that exists"};
    }
  }
  return base::Done{};
}

}  // namespace cli
