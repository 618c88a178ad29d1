// SPDX-License-Identifier: Apache-2.0
//
// The CPU of a what-if model: what each part takes, summed, held against law and speed.

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <utility>

#include "report/cpu/size_cpu.h"
#include "report/cpu/size_references.h"
#include "report/what_if/build.h"

namespace report {
namespace {

using bench::Stage;

std::string Word(Stage stage) {
  return std::string(base::WordOf(stage));
}

/// Stages with what they take, what that may be off by, both in CPUs, and what nothing tells.
struct Taken {
  double cpus = 0;
  double spread = 0;
  std::string not_told;
};

template <typename Wanted>
Taken TakenOf(const ScaledCpu& scaled, const Wanted& wanted) {
  Taken taken;
  for (const ScaledPart& part : scaled.parts) {
    if (wanted(part.stage)) {
      taken.cpus += part.cpus;
      taken.spread += part.unchanged ? 0 : part.cpus * part.spread;
    }
  }
  for (const UntoldPart& part : scaled.not_told) {
    if (wanted(part.stage)) {
      taken.not_told = part.Text();
    }
  }
  return taken;
}

bool OfSource(Stage stage) {
  return std::find(kSourceStages.begin(), kSourceStages.end(), stage) != kSourceStages.end();
}

bool Encodes(Stage stage) {
  return stage == Stage::kEncode;
}

bool Writes(Stage stage) {
  return stage == Stage::kWrite || stage == Stage::kSend;
}

/// One thing of each source or output, cell by cell.
struct TakenOfEach {
  OfEachSource cpus;
  OfEachSource spread;
  std::vector<double> untold;  // 1 where nothing tells
  std::string not_told;

  void Begin() {
    cpus.present.emplace_back();
    spread.present.emplace_back();
  }
  void Put(const Taken& taken) {
    cpus.present.back().push_back(taken.cpus);
    spread.present.back().push_back(taken.spread);
    if (cpus.present.size() == 1) {  // what no rehearsed one tells of the first, none of the others
      untold.push_back(taken.not_told.empty() ? 0 : 1);
      not_told = taken.not_told.empty() ? not_told : taken.not_told;
    }
  }
  /// What was put last is of one that is added.
  void LastIsAdded() {
    cpus.added = std::move(cpus.present.back());
    spread.added = std::move(spread.present.back());
    cpus.present.pop_back();
    spread.present.pop_back();
  }
};

class CpuSums {
 public:
  explicit CpuSums(WhatIfBuild& build) : build_(build), nodes_(build.nodes) {}

  void Add() {
    for (const SourceControls& sources : build_.controls.sources) {
      AddSources(sources);
    }
    AddProgram();
    AddMultiview();
    for (std::size_t output = 0; output < build_.controls.outputs.size(); ++output) {
      AddOutput(output);
    }
    AddSinks();
    const Taken audio = OfNothing(Stage::kAudio);
    Put(nodes_.Number(audio.cpus), nodes_.Number(audio.spread));
    build_.AddUnproven(nodes_.Number(audio.not_told.empty() ? 0 : 1),
                       NotToldText(Word(Stage::kAudio)));
    AddCpuRows(nodes_.Sum(cpus_), nodes_.Sum(spread_), build_);
  }

 private:
  ScaledCpu Scaled(const profiles::Profile& profile) const {
    return ScaleCpu(build_.evidence, profile);
  }

  Taken OfNothing(Stage stage) const {
    return TakenOf(Scaled(build_.Bare()), [stage](Stage one) { return one == stage; });
  }

  void Put(int cpus, int spread) {
    cpus_.push_back(cpus);
    spread_.push_back(spread);
  }

  int Flags(const TableAxes& axes, const std::vector<double>& flags) {
    return flags.empty() ? nodes_.Number(0) : nodes_.Table(axes, flags);
  }

  void AddSources(const SourceControls& sources) {
    const TableAxes axes = build_.PictureAxes(sources.picture);
    TakenOfEach taken;
    taken.cpus.axes = taken.spread.axes = axes;
    for (std::size_t member = 0; member <= sources.members.size(); ++member) {
      taken.Begin();
      std::vector<double> thread;
      std::vector<double> thread_spread;
      ForEachCell(axes, [&](const auto& cell) {
        const ScaledCpu scaled = Scaled(build_.Alone(sources, member, cell));
        taken.Put(TakenOf(scaled, OfSource));
        const Taken convert = TakenOf(scaled, [](Stage stage) { return stage == Stage::kConvert; });
        thread.push_back(convert.cpus);
        thread_spread.push_back(convert.spread);
      });
      const bool added = member == sources.members.size();
      const int there =
          added ? nodes_.More(build_.AddedOf(sources), nodes_.Number(0))
                : nodes_.More(build_.CountOf(sources), nodes_.Number(static_cast<double>(member)));
      const std::string of =
          added ? "each one more like " + sources.members.front() : sources.members[member];
      if (std::any_of(thread.begin(), thread.end(),
                      [](double cpus) { return cpus >= kThreadWorthSaying; })) {
        AddThread(UntoldPart{Stage::kConvert, of}.Text(), nodes_.Table(axes, thread),
                  nodes_.Table(axes, thread_spread), there);
      }
    }
    taken.LastIsAdded();
    Put(build_.SumOf(taken.cpus, sources), build_.SumOf(taken.spread, sources));
    const int some = nodes_.More(build_.CountOf(sources), nodes_.Number(0));
    build_.AddUnproven(nodes_.Product(some, Flags(axes, taken.untold)),
                       NotToldText(taken.not_told));
  }

  void AddThread(const std::string& item, int cpus, int spread, int there) {
    WhatIfResource row;
    row.resource = Resource::kOneThread;
    row.item = item;
    row.unit = "CPUs";
    row.shown =
        nodes_.Product(there, nodes_.Not(nodes_.More(nodes_.Number(kThreadWorthSaying), cpus)));
    row.asked = cpus;
    row.capacity = nodes_.Number(1);
    row.left = nodes_.Spare(cpus, row.capacity);
    row.lowest = nodes_.Spare(nodes_.Sum({cpus, spread}), row.capacity);
    row.highest = nodes_.Spare(nodes_.Less(cpus, spread), row.capacity);
    row.basis = Basis::kMeasured;
    row.source = kByOneThread;
    build_.model.resources.push_back(std::move(row));
  }

  void AddProgram() {
    const PictureControls& program = build_.controls.program;
    const TableAxes axes = build_.PictureAxes(program);
    std::vector<double> cpus;
    std::vector<double> spread;
    std::vector<double> untold;
    ForEachCell(axes, [&](const auto& cell) {
      profiles::Profile bare = build_.Bare();
      SetProgramPicture(program.rasters[cell[0]], program.rates[cell[1]], bare);
      const Taken taken =
          TakenOf(Scaled(bare), [](Stage stage) { return stage == Stage::kCompose; });
      cpus.push_back(taken.cpus);
      spread.push_back(taken.spread);
      untold.push_back(taken.not_told.empty() ? 0 : 1);
    });
    const int node = nodes_.Table(axes, cpus);
    const int node_spread = nodes_.Table(axes, spread);
    Put(node, node_spread);
    build_.AddUnproven(nodes_.Table(axes, untold), NotToldText(Word(Stage::kCompose)));
    AddThread(Word(Stage::kCompose), node, node_spread, nodes_.Number(1));
  }

  /// It reads every picture, so it takes its share of each source, and errs only where they change.
  void AddMultiview() {
    const auto is_multiview = [](Stage stage) { return stage == Stage::kMultiview; };
    const Taken now = TakenOf(Scaled(build_.evidence.profile), is_multiview);
    build_.AddUnproven(nodes_.Number(now.not_told.empty() ? 0 : 1),
                       NotToldText(Word(Stage::kMultiview)));
    if (now.cpus <= 0) {
      return;
    }
    std::vector<int> terms;
    const PictureControls& program = build_.controls.program;
    TableAxes axes = build_.PictureAxes(program);
    terms.push_back(build_.Table(axes, [&](const auto& cell) {
      profiles::Profile bare = build_.Bare();
      SetProgramPicture(program.rasters[cell[0]], program.rates[cell[1]], bare);
      return TakenOf(Scaled(bare), is_multiview).cpus;
    }));
    const double without = TakenOf(Scaled(build_.Bare()), is_multiview).cpus;
    double changed_share = 0;
    for (const SourceControls& sources : build_.controls.sources) {
      const int each = build_.Table(build_.PictureAxes(sources.picture), [&](const auto& cell) {
        const Taken with = TakenOf(Scaled(build_.Alone(sources, 0, cell)), is_multiview);
        changed_share = std::max(changed_share, with.spread / with.cpus);
        return with.cpus - without;
      });
      terms.push_back(nodes_.Product(build_.CountOf(sources), each));
    }
    const int cpus = nodes_.Sum(terms);
    const int spread =
        nodes_.Either(nodes_.Same(cpus, nodes_.Number(now.cpus)), nodes_.Number(now.spread),
                      nodes_.Product(cpus, nodes_.Number(changed_share)));
    Put(cpus, spread);
    AddThread(Word(Stage::kMultiview), cpus, spread, nodes_.Number(1));
  }

  void AddOutput(std::size_t number) {
    const OutputControls& output = build_.controls.outputs[number];
    const TableAxes axes = build_.OutputAxes(output);
    TakenOfEach encode;
    TakenOfEach write;
    for (TakenOfEach* const one : {&encode, &write}) {
      one->cpus.axes = one->spread.axes = axes;
    }
    for (std::size_t member = 0; member <= output.outputs.size(); ++member) {
      encode.Begin();
      write.Begin();
      if (member == output.outputs.size() && !output.of_each) {
        continue;  // there is never one more of it
      }
      PutOutput(output, member, encode, write);
    }
    encode.LastIsAdded();
    write.LastIsAdded();
    static const SourceControls one{{""}, {}, kNoInput, 1};
    const SourceControls& times =
        output.of_each ? build_.controls.sources[static_cast<std::size_t>(output.from)] : one;
    const int own = build_.OwnEncodeOf(number);
    Put(nodes_.Product(own, build_.SumOf(encode.cpus, times)),
        nodes_.Product(own, build_.SumOf(encode.spread, times)));
    Put(build_.SumOf(write.cpus, times), build_.SumOf(write.spread, times));
    const int some = nodes_.More(build_.TimesOf(output), nodes_.Number(0));
    build_.AddUnproven(nodes_.Product(nodes_.Product(some, own), Flags(axes, encode.untold)),
                       NotToldText(encode.not_told));
  }

  /// Every cell of one output. What nothing tells of a codec is so whatever else is chosen, and
  /// what writing takes does not go by the encode: both are asked once.
  void PutOutput(const OutputControls& output, std::size_t member, TakenOfEach& encode,
                 TakenOfEach& write) const {
    constexpr std::size_t kCodec = 3;
    std::map<std::size_t, Taken> untold;
    Taken written;
    ForEachCell(encode.cpus.axes, [&](const auto& cell) {
      const bool first = std::all_of(cell.begin() + kCodec, cell.end(),
                                     [](std::size_t choice) { return choice == 0; });
      const auto known = untold.find(cell[kCodec]);
      if (!first && known != untold.end()) {
        encode.Put(known->second);
        write.Put(written);
        return;
      }
      const ScaledCpu scaled = Scaled(build_.Alone(output, member, cell));
      const Taken taken = TakenOf(scaled, Encodes);
      written = TakenOf(scaled, Writes);
      if (!taken.not_told.empty()) {
        untold.emplace(cell[kCodec], taken);
      }
      encode.Put(taken);
      write.Put(written);
    });
  }

  /// Our own sinks take what the streams send.
  void AddSinks() {
    const auto sink = [](Stage stage) { return stage == Stage::kSink; };
    const Taken now = TakenOf(Scaled(build_.evidence.profile), sink);
    if (now.cpus <= 0) {
      return;
    }
    profiles::Profile doubled = build_.evidence.profile;
    double kbps_now = 0;
    for (profiles::Output& output : doubled.outputs) {
      if (output.kind == profiles::OutputKind::kStream) {
        kbps_now += output.bitrate_kbps;
        output.bitrate_kbps *= 2;
      }
    }
    const Taken more = TakenOf(Scaled(doubled), sink);
    std::vector<int> kbps;
    for (const OutputControls& output : build_.controls.outputs) {
      const auto& first = build_.evidence.profile.outputs[output.outputs[0]];
      if (first.kind == profiles::OutputKind::kStream) {
        TableAxes axes;
        axes.Add(build_.InputNode(output.kbps_input), output.kbps.size());
        kbps.push_back(build_.Table(
            axes, [&](const auto& cell) { return static_cast<double>(output.kbps[cell[0]]); }));
      }
    }
    if (kbps_now <= 0) {
      Put(nodes_.Number(now.cpus), nodes_.Number(0));
      return;
    }
    const int ratio = nodes_.Quotient(nodes_.Sum(kbps), nodes_.Number(kbps_now));
    const int cpus = nodes_.Product(nodes_.Number(now.cpus), ratio);
    const double share = more.cpus > 0 ? more.spread / more.cpus : 0;
    Put(cpus, nodes_.Either(nodes_.Same(ratio, nodes_.Number(1)), nodes_.Number(0),
                            nodes_.Product(cpus, nodes_.Number(share))));
  }

  WhatIfBuild& build_;
  NodeList& nodes_;
  std::vector<int> cpus_;
  std::vector<int> spread_;
};

}  // namespace

void AddCpuSums(WhatIfBuild& build) {
  const CpuBasis& cpu = build.sizer.cpu();
  if (!cpu.lacking.empty()) {
    SizedProduction now;
    SizeCpu(build.evidence, cpu, build.evidence.profile, now);
    for (const std::string& text : UnprovenTexts(now)) {
      build.AddUnproven(build.nodes.Number(1), text);
    }
    return;
  }
  CpuSums(build).Add();
}

}  // namespace report
