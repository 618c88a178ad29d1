// SPDX-License-Identifier: Apache-2.0
//
// Looks up the cost entry of each output's encode.

#include "report/cpu/encode_costs.h"

#include <algorithm>
#include <string>
#include <string_view>

#include "profiles/demand/encode_sharing.h"

namespace report {
namespace {

bool EncodesCodec(std::string_view encoder, const std::string& codec) {
  if (encoder == codec || encoder.starts_with(codec + "_")) {
    return true;
  }
  return (codec == "h264" && encoder == "libx264") || (codec == "hevc" && encoder == "libx265") ||
         (codec == "av1" && encoder.starts_with("libsvtav1")) ||
         (codec == "av1" && encoder.starts_with("libaom"));
}

bool Fits(const bench::CostEntry& entry, const profiles::Output& output) {
  return entry.stage == bench::Stage::kEncode && entry.of &&
         entry.of->width == output.raster.width && entry.of->height == output.raster.height &&
         EncodesCodec(entry.of->form, output.codec) &&
         entry.of->effort.value_or(output.effort) == output.effort;
}

}  // namespace

std::optional<double> EncodeCpus(const bench::CostTable& costs, const profiles::Profile& profile) {
  double cpus = 0;
  for (const profiles::Output& output : profiles::OnePerEncode(profile.outputs)) {
    double dearest_ms = 0;
    for (const bench::CostEntry& entry : costs.entries) {
      if (Fits(entry, output)) {
        dearest_ms = std::max(dearest_ms, entry.cpu_ms);
      }
    }
    if (dearest_ms <= 0) {
      return std::nullopt;
    }
    cpus += base::ToDouble(output.rate) * dearest_ms / 1000;
  }
  return cpus;
}

}  // namespace report
