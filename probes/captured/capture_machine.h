// SPDX-License-Identifier: Apache-2.0
//
// A machine written into an archive, with private things left out.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <stop_token>
#include <string>
#include <vector>

#include "base/result.h"
#include "base/system/machine_root.h"
#include "probes/captured/new_file.h"
#include "probes/line/v4l2_modes.h"

namespace probes {

struct CaptureSummary {
  std::size_t files = 0;
  std::size_t links = 0;
  std::int64_t unpacked_bytes = 0;
  std::vector<std::string> left_out;  // sentences for people: what is not in it
};

/// Runs every probe and writes the files that they read, and those that hwloc
/// needs, to the gzip-compressed tar `out_archive`. Serial numbers, addresses,
/// host and user names do not leave the machine. On failure, and when a stop is
/// requested, no partial archive stays behind. `ask_modes` asks other drivers than this PC's.
base::Result<CaptureSummary> CaptureMachine(const base::MachineRoot& root,
                                            const std::filesystem::path& out_archive,
                                            IfThere if_there = IfThere::kRefuse,
                                            const std::stop_token& stop = {},
                                            const ModeAsker& ask_modes = nullptr);

}  // namespace probes
