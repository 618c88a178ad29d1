// SPDX-License-Identifier: Apache-2.0
//
// What the simulated cameras showed, and what harder pictures would cost.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "bench/data/results.h"
#include "profiles/profile.h"

namespace report {

/// One encode measured with the profile's pictures and with harder ones.
struct HarderPictures {
  std::string encode;  // "1920x1080 libx264 low"
  profiles::Content shown = profiles::Content::kTalk;
  profiles::Content harder = profiles::Content::kTalk;
  double shown_cpu_ms = 0;  // a picture
  double harder_cpu_ms = 0;
  double Times() const { return harder_cpu_ms / shown_cpu_ms; }
};

/// Nothing when harder pictures were not measured, or are none.
std::optional<HarderPictures> HarderPicturesOf(const bench::CostTable& costs);

/// Which pictures the cameras showed, and what harder ones would cost where
/// that was measured: a sentence each.
std::vector<std::string> ContentLines(const profiles::Profile& profile,
                                      const std::optional<bench::CostTable>& costs);

}  // namespace report
