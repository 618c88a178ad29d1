// SPDX-License-Identifier: Apache-2.0
//
// Frame lateness on the report page: one small drawing for each output, all on the same steps.

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "base/rational.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {

namespace {

/// Upper ends of the bars in milliseconds; the last bar has none.
constexpr std::array<double, 9> kSteps{2, 5, 10, 20, 33, 50, 100, 200, 500};
constexpr std::size_t kBars = kSteps.size() + 1;
constexpr int kBarWidth = 36;
constexpr int kFullHeight = 84;
constexpr int kBase = 108;  // where bars stand
constexpr int kLeft = 6;
constexpr double kNearly = 0.98;  // 33 ms is the period of 30 and of 29.97 frames a second

std::size_t BarOf(double up_to_ms) {
  const auto step = std::lower_bound(kSteps.begin(), kSteps.end(), up_to_ms);
  return static_cast<std::size_t>(step - kSteps.begin());
}

/// Buckets join the bar that holds their upper end.
std::array<std::int64_t, kBars> SumBars(const bench::Lateness& lateness) {
  std::array<std::int64_t, kBars> frames{};
  for (const bench::Lateness::Bucket& bucket : lateness.histogram) {
    frames.at(BarOf(bucket.up_to_ms)) += bucket.frames;
  }
  return frames;
}

std::string StepName(std::size_t bar) {
  return bar < kSteps.size() ? fmt::format("{:g}", kSteps.at(bar))
                             : fmt::format("over {:g}", kSteps.back());
}

/// Where `ms` lies along the bars: straight between the ends of its bar.
double PlaceOf(double ms) {
  const std::size_t bar = BarOf(ms);
  if (bar >= kSteps.size()) {
    return static_cast<double>(kSteps.size());
  }
  const double from = bar == 0 ? 0 : kSteps.at(bar - 1);
  return static_cast<double>(bar) + (ms - from) / (kSteps.at(bar) - from);
}

/// A bar that holds anything is at least two units high, so that one frame shows.
int HeightOf(std::int64_t frames, std::int64_t most) {
  if (frames <= 0 || most <= 0) {
    return 0;
  }
  const double share = static_cast<double>(frames) / static_cast<double>(most);
  return std::max(2, static_cast<int>(std::lround(share * kFullHeight)));
}

double PeriodMs(const profiles::Profile& profile, const std::string& output) {
  const auto found =
      std::find_if(profile.outputs.begin(), profile.outputs.end(),
                   [&](const profiles::Output& candidate) { return candidate.name == output; });
  return found == profile.outputs.end() ? 0 : 1000 / base::ToDouble(found->rate);
}

View BarsView(const std::array<std::int64_t, kBars>& frames, double period_ms) {
  const std::int64_t most = *std::max_element(frames.begin(), frames.end());
  ViewList bars;
  for (std::size_t bar = 0; bar < kBars; ++bar) {
    const int height = HeightOf(frames.at(bar), most);
    const int x = kLeft + static_cast<int>(bar) * kBarWidth;
    const bool late = period_ms > 0 && bar > 0 && kSteps.at(bar - 1) >= period_ms * kNearly;
    View view("bar_x", View(std::to_string(x + 2)));
    view.set("bar_y", View(std::to_string(kBase - height)));
    view.set("bar_height", View(std::to_string(height)));
    view.set("bar_class", View(late ? "late" : "in-time"));
    view.set("text_x", View(std::to_string(x + kBarWidth / 2)));
    view.set("count_y", View(std::to_string(kBase - height - 4)));
    view.set("count", View(frames.at(bar) > 0 ? FormatCount(frames.at(bar)) : std::string()));
    view.set("step", View(bar < kSteps.size() ? StepName(bar) : std::string("more")));
    bars.emplace_back(view);
  }
  return View(bars);
}

std::string InWords(const std::array<std::int64_t, kBars>& frames) {
  std::string words;
  for (std::size_t bar = 0; bar < kBars; ++bar) {
    if (frames.at(bar) > 0) {
      words += fmt::format("{}{}{} ms: {}", words.empty() ? "" : "; ",
                           bar < kSteps.size() ? "up to " : "", StepName(bar),
                           FormatCount(frames.at(bar)));
    }
  }
  return words;
}

}  // namespace

View HistogramView(const Document& document) {
  const auto& rehearsal = document.evidence.results.rehearsal;
  ViewList drawings;
  if (rehearsal) {
    for (const bench::OutputLedger& output : rehearsal->outputs) {
      if (output.lateness.histogram.empty()) {
        continue;
      }
      const auto frames = SumBars(output.lateness);
      const double period_ms = PeriodMs(document.evidence.profile, output.name);
      View view("output", View(output.name));
      view.set("bars", BarsView(frames, period_ms));
      view.set("in_words", View(InWords(frames)));
      view.set("has_period", View(period_ms > 0));
      view.set("period", View(FormatNumber(period_ms)));
      view.set("period_x", View(fmt::format("{:.1f}", kLeft + PlaceOf(period_ms) * kBarWidth)));
      drawings.emplace_back(view);
    }
  }
  return SectionOf("drawings", drawings);
}

}  // namespace report
