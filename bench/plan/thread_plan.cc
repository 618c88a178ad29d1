// SPDX-License-Identifier: Apache-2.0

#include "bench/plan/thread_plan.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include <fmt/format.h>

namespace bench {
namespace {

constexpr int kMostThreads = 16;
constexpr int kMacroblock = 16;
constexpr int kWavefrontRow = 64;

struct Weights {
  std::string_view encoder;
  std::array<double, 4> by_effort;  // least, low, medium, high
};
constexpr Weights kWeights[] = {
    {"libx264", {1, 2.5, 6.5, 15}},
    {"libx265", {13, 14, 26, 34}},
    {"libsvtav1", {5, 9, 11, 21}},
    {"mjpeg", {0.75, 0.75, 0.75, 0.75}},
};

int RowsOf(const profiles::Raster& raster, int row) {
  return (raster.height + row - 1) / row;
}

std::string ShareText(double share, std::size_t encodes, double cpus) {
  const std::string of_what =
      encodes == 1
          ? "the only software encode"
          : fmt::format("{:.0f} % of the work of {} software encodes", share * 100, encodes);
  return fmt::format("{} on {:.3g} usable CPU{}", of_what, cpus, cpus == 1 ? "" : "s");
}

ThreadChoice Choose(const EncodeWork& encode, double share, std::size_t encodes, double cpus) {
  if (encode.encoder == "null") {
    return {1, "nothing is encoded"};
  }
  if (encode.hardware) {
    return {1, "the graphics device does the work"};
  }
  const int whole_cpus = std::max(1, static_cast<int>(std::ceil(cpus)));
  // Threads of one encoder wait for each other's rows: twice its share keeps its CPUs busy.
  const int wanted = std::max(1, static_cast<int>(std::ceil(2 * share * whole_cpus)));
  const int useful = MostThreads(encode.encoder, encode.raster);
  ThreadChoice choice{std::min({wanted, whole_cpus, useful}), ShareText(share, encodes, cpus)};
  if (choice.threads == wanted) {
    choice.why += wanted == 1 ? "" : "; twice its share, as threads wait for each other's rows";
  } else if (choice.threads == whole_cpus) {
    choice.why += "; no more threads than CPUs";
  } else if (useful == kMostThreads) {
    choice.why += fmt::format("; more than {} gain little", kMostThreads);
  } else {
    choice.why += fmt::format("; a picture of {} has rows for no more than {}",
                              profiles::ToText(encode.raster), useful);
  }
  return choice;
}

}  // namespace

double EffortWeight(const std::string& encoder, profiles::Effort effort) {
  for (const Weights& weights : kWeights) {
    if (weights.encoder == encoder) {
      return weights.by_effort[static_cast<std::size_t>(effort)];
    }
  }
  return 1;
}

double WorkOf(const EncodeWork& encode) {
  if (encode.hardware || encode.encoder == "null") {
    return 0;
  }
  const int columns = (encode.raster.width + kMacroblock - 1) / kMacroblock;
  const double macroblocks = static_cast<double>(columns) * RowsOf(encode.raster, kMacroblock);
  return macroblocks * base::ToDouble(encode.rate) * EffortWeight(encode.encoder, encode.effort);
}

int MostThreads(const std::string& encoder, const profiles::Raster& raster) {
  const int useful =
      encoder == "libx265" ? RowsOf(raster, kWavefrontRow) : RowsOf(raster, kMacroblock) / 2;
  return std::clamp(useful, 1, kMostThreads);
}

std::vector<ThreadChoice> PlanThreads(const std::vector<EncodeWork>& encodes, double usable_cpus) {
  double all = 0;
  std::size_t software = 0;
  for (const EncodeWork& encode : encodes) {
    all += WorkOf(encode);
    software += WorkOf(encode) > 0 ? 1 : 0;
  }
  std::vector<ThreadChoice> choices;
  for (const EncodeWork& encode : encodes) {
    const double share = all > 0 ? WorkOf(encode) / all : 0;
    choices.push_back(Choose(encode, share, software, usable_cpus));
  }
  return choices;
}

}  // namespace bench
