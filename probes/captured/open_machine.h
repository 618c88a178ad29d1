// SPDX-License-Identifier: Apache-2.0
//
// A machine root opened from a folder or from an archive of one.

#pragma once

#include <filesystem>

#include "base/result.h"
#include "base/system/machine_root.h"
#include "probes/captured/temporary_folder.h"

namespace probes {

/// A root that can be read for as long as this value lives.
struct OpenedMachine {
  base::MachineRoot root;
  TemporaryFolder unpacked;  // without a path when a folder was opened
};

/// Opens a machine root: "/", a folder with sys/ in it, or a tar archive (gzip,
/// bzip2, xz or zstd) of such a folder. Archives are input from strangers:
/// ".." and absolute names, links leading outside, anything but files, folders
/// and links, more than 64 MiB or 50,000 entries are refused (kMalformed).
base::Result<OpenedMachine> OpenMachine(const std::filesystem::path& folder_or_archive);

}  // namespace probes
