// SPDX-License-Identifier: Apache-2.0

#include "bench/plan/source_plan.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/pixel_formats.h"
#include "profiles/words.h"

namespace bench {
namespace {

/// Pixels a second that one thread is trusted with: 1920x1080 at 60.
constexpr double kPixelsPerThread = 1920.0 * 1080 * 60;
constexpr int kMostThreads = 4;

bool FromNetwork(const profiles::Source& source) {
  return source.arrives_by == profiles::ArrivesBy::kNetwork;
}

}  // namespace

SourcePlan PlanSource(const profiles::Source& source, const std::vector<WorkingDecoder>& hardware) {
  SourcePlan plan;
  if (FromNetwork(source)) {
    const auto fits =
        std::find_if(hardware.begin(), hardware.end(),
                     [&](const WorkingDecoder& decoder) { return decoder.codec == source.codec; });
    if (fits != hardware.end()) {
      plan.decoder = fits->name;
      return plan;
    }
  }
  const double pixels = static_cast<double>(source.raster.Pixels()) * base::ToDouble(source.rate);
  plan.threads =
      std::clamp(static_cast<int>(std::ceil(pixels / kPixelsPerThread)), 1, kMostThreads);
  return plan;
}

std::string NoteOn(const profiles::Source& source, const SourcePlan& plan,
                   const std::vector<WorkingDecoder>& hardware) {
  if (!profiles::ComesInPackets(source)) {
    return "";
  }
  const std::string name = base::Printable(source.name);
  if (!plan.decoder.empty()) {
    return fmt::format(
        "{}: {} decoded by {}, which was tried here; its pictures are copied back "
        "to system memory",
        name, source.codec, plan.decoder);
  }
  const std::string codec = FromNetwork(source) ? source.codec : source.pixel_format;
  const char* const why = !FromNetwork(source) ? "as capture programs do"
                          : hardware.empty()   ? "no hardware decoder works here"
                                               : "no hardware decoder for it works here";
  return fmt::format("{}: {} decoded in software ({}), {} thread{}{}", name, codec, why,
                     plan.threads, plan.threads == 1 ? "" : "s",
                     plan.threads == 1
                         ? ""
                         : ", since one may not keep up: each more keeps pictures back one frame");
}

}  // namespace bench
