// SPDX-License-Identifier: Apache-2.0

#include "report/cpu/frame_cost.h"

#include <algorithm>

namespace report {

std::optional<double> FrameCpuMs(const std::optional<bench::CostTable>& costs, bench::Stage stage,
                                 const bench::CostSubject& of) {
  double dearest_ms = 0;
  if (costs) {
    for (const bench::CostEntry& entry : costs->entries) {
      if (entry.stage == stage && entry.of && entry.of->width == of.width &&
          entry.of->height == of.height && entry.of->form == of.form) {
        dearest_ms = std::max(dearest_ms, entry.cpu_ms);
      }
    }
  }
  return dearest_ms > 0 ? std::optional(dearest_ms) : std::nullopt;
}

bench::CostSubject SourceFrame(const profiles::Source& source) {
  return {source.raster.width, source.raster.height,
          source.pixel_format.empty() ? source.codec : source.pixel_format};
}

bench::CostSubject DrawnFrame(const profiles::Raster& raster) {
  return {raster.width, raster.height, ""};
}

bench::CostSubject SoundFrame() {
  return {0, 0, bench::kSoundForm};
}

}  // namespace report
