// SPDX-License-Identifier: Apache-2.0
//
// What a command works on: the profile and the machine that the command line names.

#pragma once

#include <filesystem>

#include "base/result.h"
#include "cli/options/options.h"
#include "probes/captured/open_machine.h"
#include "profiles/profile.h"

namespace cli {

struct ChosenProfile {
  profiles::Profile profile;
  std::filesystem::path name;    // the file, or the starter's name
  std::filesystem::path folder;  // clips and folders in it are relative to this
};

/// The file or starter named, else the default starter.
base::Result<ChosenProfile> ReadChosenProfile(const Options& options);

/// The captured machine named, else this PC. kNotPresent and kMalformed become kInvalid.
base::Result<probes::OpenedMachine> OpenChosenMachine(const Options& options);

}  // namespace cli
