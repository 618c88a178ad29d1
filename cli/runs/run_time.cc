// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/run_time.h"

#include <algorithm>
#include <cstddef>
#include <set>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/encode_sharing.h"

namespace cli {
namespace {

constexpr double kNoBoundSeconds = 1e9;
constexpr double kInventorySeconds = 5;
constexpr double kOthersSeconds = 2;
// Measured on one thread of an x86-64 server CPU with the optimised program: what a scene takes to
// be laid out, and one of its pictures to be painted, at 1080p and 2160p alike.
constexpr double kScenePerMegapixel = 0.107;
constexpr double kPicturePerMegapixel = 0.035;
constexpr double kPictures = 24;
/// The benchmark library repeats a stage until its time is long enough.
constexpr double kRepeats = 2.5;

double Megapixels(const profiles::Raster& raster) {
  return static_cast<double>(raster.Pixels()) / 1e6;
}

double PaintSeconds(double megapixels, double cpus) {
  return megapixels * (kScenePerMegapixel + kPictures * kPicturePerMegapixel / cpus);
}

/// Stages of the costs program, each with the picture that it prepares.
double CostSeconds(const profiles::Profile& profile, double each_s, double cpus) {
  double seconds = 0;
  std::set<std::string> known;
  const auto add = [&](const std::string& name, const profiles::Raster& raster) {
    if (known.insert(name + profiles::ToText(raster)).second) {
      seconds += PaintSeconds(Megapixels(raster), cpus) + kRepeats * each_s;
    }
  };
  for (const profiles::Source& source : profile.sources) {
    add("copy" + source.pixel_format + source.codec, source.raster);
    add("convert" + source.pixel_format + source.codec, source.raster);
  }
  add("compose", profile.program_raster);
  if (profile.multiview) {
    add("multiview", profile.multiview->raster);
  }
  for (const auto& outputs : profiles::Encodes(profile.outputs)) {
    const profiles::Output& output = profile.outputs[outputs.front()];
    add("encode" + output.codec + std::to_string(output.bitrate_kbps), output.raster);
  }
  add("harder", profile.program_raster);
  return seconds;
}

/// Feeds are painted side by side.
double FeedSeconds(const profiles::Profile& profile, double cpus) {
  double all = 0;
  double largest = 0;
  for (const profiles::Source& source : profile.sources) {
    const double megapixels = Megapixels(source.raster);
    all += megapixels;
    largest = std::max(largest, megapixels);
  }
  return largest * kScenePerMegapixel + all * kPictures * kPicturePerMegapixel / cpus;
}

}  // namespace

double ExpectedSeconds(const profiles::Profile& profile, const Durations& durations, int cpus) {
  const auto workers = static_cast<double>(std::max(1, cpus));
  double costs = durations.cost_s > 0 ? CostSeconds(profile, durations.cost_s, workers) : 0;
  if (durations.costs_at_most_s > 0) {
    costs = std::min(costs, durations.costs_at_most_s);
  }
  const double sum = kInventorySeconds + kOthersSeconds + costs + durations.disk_s +
                     FeedSeconds(profile, workers) + durations.rehearsal_s + durations.ballast_s +
                     durations.flat_out_s + durations.grown_flat_outs * durations.grown_flat_out_s +
                     durations.contention_s;
  return durations.whole_s > 0 ? std::min(sum, durations.whole_s) : sum;
}

int MostPictures(const profiles::Profile& profile, const Durations& durations, int cpus) {
  double all = 0;
  for (const profiles::Source& source : profile.sources) {
    all += Megapixels(source.raster);
  }
  const double each_s = all * kPicturePerMegapixel / std::max(1, cpus);
  return each_s > 0 ? std::max(1, static_cast<int>(durations.painting_s / each_s)) : 1;
}

std::string ExpectedText(const profiles::Profile& profile, const Durations& durations, int cpus) {
  std::string text = fmt::format("this takes about {}",
                                 base::FormatSeconds(ExpectedSeconds(profile, durations, cpus)));
  if (durations.whole_s > 0) {
    text += fmt::format(", {} at most", base::FormatSeconds(durations.at_most_s));
  } else if (durations.search_s > 0) {
    text += ", and the search for room some minutes more";
  }
  return text;
}

TimeLeft::TimeLeft(const base::Clock& clock, double whole_s)
    : clock_(&clock), began_ns_(clock.NowNs()), whole_s_(whole_s) {}

double TimeLeft::Seconds() const {
  return bounded() ? whole_s_ - static_cast<double>(clock_->NowNs() - began_ns_) / 1e9
                   : kNoBoundSeconds;
}

double TimeLeft::Share(double wanted_s, double least_s, double reserved_s) const {
  const double share = std::min(wanted_s, Seconds() - reserved_s);
  return share >= least_s ? share : 0;
}

}  // namespace cli
