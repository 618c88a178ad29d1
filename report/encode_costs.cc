// SPDX-License-Identifier: Apache-2.0
//
// Looks up the cost entry of each output's encode.

#include "report/encode_costs.h"

#include <algorithm>
#include <string>
#include <string_view>

#include "base/text.h"
#include "profiles/encode_sharing.h"

namespace report {
namespace {

std::string_view EffortWord(profiles::Effort effort) {
  switch (effort) {
    case profiles::Effort::kLeast:
      return "least";
    case profiles::Effort::kLow:
      return "low";
    case profiles::Effort::kMedium:
      return "medium";
    case profiles::Effort::kHigh:
      return "high";
  }
  return "";
}

bool EncodesCodec(std::string_view encoder, const std::string& codec) {
  if (encoder == codec || encoder.starts_with(codec + "_")) {
    return true;
  }
  return (codec == "h264" && encoder == "libx264") || (codec == "hevc" && encoder == "libx265") ||
         (codec == "av1" && encoder.starts_with("libsvtav1")) ||
         (codec == "av1" && encoder.starts_with("libaom"));
}

// "1280x720 libx264 low talk": raster, encoder, effort, content.
bool Fits(const bench::CostEntry& entry, const profiles::Output& output) {
  const auto words = base::SplitWords(entry.detail);
  return entry.stage == "encode" && words.size() >= 2 &&
         words[0] ==
             std::to_string(output.raster.width) + "x" + std::to_string(output.raster.height) &&
         EncodesCodec(words[1], output.codec) &&
         (words.size() < 3 || words[2] == EffortWord(output.effort));
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
