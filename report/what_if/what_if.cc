// SPDX-License-Identifier: Apache-2.0
//
// The model put together, and held against the sizing of the production as it is.

#include "report/what_if/what_if.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "profiles/text/read_outputs.h"
#include "profiles/text/read_sources.h"
#include "report/headroom/resource_room.h"
#include "report/what_if/build.h"

namespace report {
namespace {

/// A profile holds no more: the program would not be asked about it either.
void AddMostOf(WhatIfBuild& build) {
  NodeList& nodes = build.nodes;
  std::vector<int> sources;
  for (const SourceControls& one : build.controls.sources) {
    sources.push_back(build.CountOf(one));
  }
  std::vector<int> outputs;
  for (const OutputControls& one : build.controls.outputs) {
    outputs.push_back(build.TimesOf(one));
  }
  const auto most = [&](const std::vector<int>& counts, int limit, const char* what) {
    build.AddUnproven(nodes.More(nodes.Sum(counts), nodes.Number(limit)),
                      "production: a profile has at most " + std::to_string(limit) + " " + what);
  };
  most(sources, profiles::kMostSources, "sources");
  most(outputs, profiles::kMostOutputs, "outputs");
  build.AddUnproven(nodes.Not(nodes.More(nodes.Sum(sources), nodes.Number(0))),
                    "production: a profile has at least 1 source");
}

bool Near(double one, double other) {
  constexpr double kRounding = 1e-3;
  return std::abs(one - other) <= kRounding * std::max({1.0, std::abs(one), std::abs(other)});
}

bool SaysWhatSizingSays(const WhatIfModel& model, const SizedProduction& sized) {
  const SizedProduction modelled = EvaluateWhatIf(model, InputsNow(model));
  if (modelled.verdict != sized.verdict || modelled.resources.size() != sized.resources.size()) {
    return false;
  }
  for (const SizedResource& row : sized.resources) {
    const auto same = std::find_if(
        modelled.resources.begin(), modelled.resources.end(), [&](const SizedResource& other) {
          return other.resource == row.resource && other.item == row.item &&
                 Near(other.asked, row.asked) &&
                 Near(other.headroom_percent.value_or(0), row.headroom_percent.value_or(0));
        });
    if (same == modelled.resources.end()) {
      return false;
    }
  }
  return true;
}

}  // namespace

std::optional<WhatIfModel> MakeWhatIf(const Evidence& evidence) {
  if (evidence.profile.sources.empty() || evidence.profile.outputs.empty()) {
    return std::nullopt;
  }
  const Sizer sizer(evidence);
  const WhatIfControls controls = ControlsOf(evidence);
  WhatIfBuild build(sizer, controls);
  const std::vector<Headroom> now = RowsOfGrown(build.light, evidence.profile);
  AddCpuSums(build);
  AddMemorySums(now, build);
  AddSupplySums(now, build);
  AddLinkCases(now, build);
  AddMostOf(build);
  build.model.nodes = build.nodes.Take();
  build.model.dropped = sizer.cpu().dropped;
  build.model.unfair = sizer.cpu().unfair;
  if (!SaysWhatSizingSays(build.model, sizer.Size(evidence.profile))) {
    return std::nullopt;
  }
  return std::move(build.model);
}

}  // namespace report
