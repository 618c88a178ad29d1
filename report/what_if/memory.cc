// SPDX-License-Identifier: Apache-2.0
//
// Memory and memory traffic of a what-if model.

#include "profiles/demand/memory_demand.h"
#include "profiles/demand/memory_traffic.h"
#include "report/what_if/build.h"

namespace report {
namespace {

/// MemoryPoolBytes() or MemoryTrafficBytesPerSecond(), which the sums of a demand have.
using Amount = double (*)(const profiles::Profile&);

class MemorySums {
 public:
  MemorySums(Amount amount, WhatIfBuild& build)
      : amount_(amount), build_(build), nodes_(build.nodes) {}

  /// Of the whole production.
  int Sum() {
    std::vector<int> terms{Program()};
    for (const SourceControls& sources : build_.controls.sources) {
      terms.push_back(nodes_.Product(build_.CountOf(sources), OfSource(sources)));
    }
    for (std::size_t output = 0; output < build_.controls.outputs.size(); ++output) {
      terms.push_back(OfOutput(output));
    }
    terms.push_back(OfTheLargest());
    return nodes_.Sum(terms);
  }

 private:
  double Of(const profiles::Profile& profile) const { return amount_(profile); }

  /// So many sources alike and nothing else.
  double OfSources(const SourceControls& sources, const std::vector<std::size_t>& cell,
                   std::size_t count) const {
    profiles::Profile alone = build_.Alone(sources, 0, cell);
    alone.sources.assign(count, alone.sources[0]);
    return Of(alone);
  }

  int Program() {
    const PictureControls& program = build_.controls.program;
    return build_.Table(build_.PictureAxes(program), [&](const auto& cell) {
      profiles::Profile bare = build_.Bare();
      SetProgramPicture(program.rasters[cell[0]], program.rates[cell[1]], bare);
      return Of(bare);
    });
  }

  /// What the third of a kind adds: the first two are also drawn into the program.
  int OfSource(const SourceControls& sources) {
    return build_.Table(build_.PictureAxes(sources.picture), [&](const auto& cell) {
      return OfSources(sources, cell, 3) - OfSources(sources, cell, 2);
    });
  }

  /// The program reads two pictures at most (of a wipe), of the largest raster.
  int OfTheLargest() {
    const PictureControls& program = build_.controls.program;
    std::vector<int> largest{nodes_.Number(0)};
    std::vector<int> counts;
    for (const SourceControls& sources : build_.controls.sources) {
      TableAxes axes = build_.PictureAxes(sources.picture);
      axes.Add(build_.InputNode(program.rate_input), program.rates.size());
      const int one = build_.Table(axes, [&](const auto& cell) {
        profiles::Profile alone = build_.Alone(sources, 0, {cell[0], cell[1]});
        SetProgramPicture(alone.program_raster, program.rates[cell[2]], alone);
        std::vector<double> up_to{0, 0, 0, 0};
        for (std::size_t count = 0; count < up_to.size(); ++count) {
          profiles::Profile some = alone;
          some.sources.assign(count, alone.sources[0]);
          up_to[count] = Of(some);
        }
        return up_to[1] - up_to[0] - (up_to[3] - up_to[2]);
      });
      const int count = build_.CountOf(sources);
      counts.push_back(count);
      largest.push_back(nodes_.Product(nodes_.More(count, nodes_.Number(0)), one));
    }
    return nodes_.Product(nodes_.Least({nodes_.Number(2), nodes_.Sum(counts)}),
                          nodes_.Most(largest));
  }

  /// Its encode once where outputs share it, its packets for each.
  int OfOutput(std::size_t number) {
    const OutputControls& output = build_.controls.outputs[number];
    const TableAxes axes = build_.OutputAxes(output);
    std::vector<double> encode;
    std::vector<double> packets;
    ForEachCell(axes, [&](const auto& cell) {
      profiles::Profile alone = build_.Alone(output, 0, cell);
      const profiles::Output one = alone.outputs[0];
      const double once = Of(alone);
      alone.outputs = {one, one};
      const double twice = Of(alone);
      alone.outputs.clear();
      packets.push_back(twice - once);
      encode.push_back(once - Of(alone) - packets.back());
    });
    const int each =
        nodes_.Sum({nodes_.Product(build_.OwnEncodeOf(number), nodes_.Table(axes, encode)),
                    nodes_.Table(axes, packets)});
    return nodes_.Product(build_.TimesOf(output), each);
  }

  Amount amount_;
  WhatIfBuild& build_;
  NodeList& nodes_;
};

}  // namespace

void AddMemorySums(const std::vector<Headroom>& now, WhatIfBuild& build) {
  SizedProduction sized;
  SizeOthers(build.light, now, build.evidence.profile, sized);
  for (const SizedResource& row : sized.resources) {
    if (row.resource != Resource::kMemory && row.resource != Resource::kMemoryTraffic) {
      continue;
    }
    const bool memory = row.resource == Resource::kMemory;
    // What was measured stays, and what the sums say of a change comes to it.
    const Amount amount =
        memory ? profiles::MemoryPoolBytes : profiles::MemoryTrafficBytesPerSecond;
    const double rest = row.asked - amount(build.evidence.profile);
    const int sum = MemorySums(amount, build).Sum();
    const int shown = build.nodes.Number(1);
    const int asked = build.nodes.Sum({build.nodes.Number(rest), sum});
    build.AddRow(row, shown, asked, sized);
  }
}

}  // namespace report
