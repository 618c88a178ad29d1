// SPDX-License-Identifier: Apache-2.0
//
// One at a time: whatever loads this PC, whoever starts it.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "base/system/descriptor.h"
#include "cli/options/options.h"

namespace cli {

/// Held from before the load to its end; goes with the process, however that ends. Programs that
/// are started meanwhile do not inherit it.
class PcLock {
 public:
  /// kDenied where another program holds it, with who that is. Where no lock can be had at all (no
  /// folder that all users share, or somebody has put something else in the way) it says so and
  /// goes on: nobody may keep this PC from being measured.
  static base::Result<PcLock> Take(const Options& options);

 private:
  std::vector<base::Descriptor> files_;  // one for each folder that all users share
};

/// In words, whoever loads this PC now, as far as it can be seen.
std::optional<std::string> WhoLoadsThisPc();

/// That it is loaded by somebody, as a refusal.
std::string LoadedBy(const std::string& somebody);

}  // namespace cli
