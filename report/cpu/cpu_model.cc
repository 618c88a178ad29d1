// SPDX-License-Identifier: Apache-2.0
//
// Stage by stage: the rehearsal's figures first, micro-costs where it has none.

#include "report/cpu/cpu_model.h"

#include <algorithm>
#include <cstddef>
#include <string_view>
#include <utility>

#include "profiles/demand/encode_sharing.h"
#include "profiles/pixel_formats.h"
#include "report/cpu/encode_costs.h"
#include "report/cpu/frame_cost.h"

namespace report {
namespace {

using bench::Stage;

class Modeller {
 public:
  Modeller(const profiles::Profile& profile, const bench::Results& results)
      : profile_(profile), results_(results) {}

  CpuModel Model() {
    for (const profiles::Source& source : profile_.sources) {
      AddSource(source);
    }
    AddCanvas(Stage::kCompose, base::ToDouble(profile_.program_rate), profile_.program_raster);
    if (profile_.multiview) {
      AddCanvas(Stage::kMultiview, base::ToDouble(profile_.multiview->rate),
                profile_.multiview->raster);
    }
    if (profile_.audio) {
      AddAudio(*profile_.audio);
    }
    for (const auto& of_encode : profiles::Encodes(profile_.outputs)) {
      AddEncode(of_encode);
    }
    for (const profiles::Output& output : profile_.outputs) {
      AddWriting(output);
    }
    AddSinks();
    return std::move(model_);
  }

 private:
  /// From the rehearsal: CPU of one frame x frames a second.
  std::optional<double> Rehearsed(Stage stage, const std::string& item, double rate) const {
    if (!results_.rehearsal) {
      return std::nullopt;
    }
    double cpus = 0;
    bool found = false;
    for (const bench::StageCost& cost : results_.rehearsal->stages) {
      // Frames that took no CPU time at all: it was not read (a kernel without schedstat).
      if (cost.stage == stage && cost.item == item && cost.frames > 0 && cost.cpu_seconds != 0) {
        cpus += cost.cpu_seconds / static_cast<double>(cost.frames) * rate;
        found = true;
      }
    }
    return found ? std::optional(cpus) : std::nullopt;
  }

  /// From the micro-costs.
  std::optional<double> Computed(Stage stage, const bench::CostSubject& of, double rate) const {
    const auto frame_ms = FrameCpuMs(results_.costs, stage, of);
    return frame_ms ? std::optional(*frame_ms / 1000 * rate) : std::nullopt;
  }

  void Add(Stage stage, const std::string& item, const std::optional<double>& rehearsed,
           const std::optional<double>& computed) {
    if (rehearsed) {
      model_.parts.push_back({stage, item, *rehearsed, Basis::kMeasured});
    } else if (computed) {
      model_.parts.push_back({stage, item, *computed, Basis::kComputed});
    } else {
      model_.not_told.push_back({stage, item});
    }
  }

  void AddSource(const profiles::Source& source) {
    const double rate = base::ToDouble(source.rate);
    const bench::CostSubject frame = SourceFrame(source);
    const bool decoded = profiles::ComesInPackets(source);
    const Stage taken_in = decoded ? Stage::kDecode : Stage::kConvert;
    auto computed = Computed(taken_in, frame, rate);
    if (const auto copied = Computed(Stage::kCopy, frame, rate); copied && computed && !decoded) {
      *computed += *copied;  // in the rehearsal one thread does both
    }
    Add(taken_in, source.name, Rehearsed(taken_in, source.name, rate), computed);
    // What simulates the camera is in the figures that these are set against, too.
    for (const Stage stage : {Stage::kCapture, Stage::kSimulate, Stage::kReceive}) {
      if (const auto rehearsed = Rehearsed(stage, source.name, rate)) {
        Add(stage, source.name, rehearsed, std::nullopt);
      }
    }
  }

  void AddCanvas(Stage stage, double rate, const profiles::Raster& raster) {
    Add(stage, "", Rehearsed(stage, "", rate), Computed(stage, DrawnFrame(raster), rate));
  }

  void AddAudio(const profiles::Audio& audio) {
    constexpr double kSamplesOfAacFrame = 1024;  // ISO/IEC 14496-3, one long window
    const double rate = audio.sample_rate_hz / kSamplesOfAacFrame;
    Add(Stage::kAudio, "", Rehearsed(Stage::kAudio, "", rate),
        Computed(Stage::kAudio, SoundFrame(), rate));
  }

  /// Outputs that ask for the same share one encode.
  void AddEncode(const std::vector<std::size_t>& of_encode) {
    const profiles::Output& output = profile_.outputs[of_encode.front()];
    const std::string name = profiles::EncodeName(profile_.outputs, of_encode);
    profiles::Profile alone = profile_;
    alone.outputs = {output};
    Add(Stage::kEncode, name, Rehearsed(Stage::kEncode, name, base::ToDouble(output.rate)),
        results_.costs ? EncodeCpus(*results_.costs, alone) : std::nullopt);
  }

  void AddWriting(const profiles::Output& output) {
    const bool stream = output.kind == profiles::OutputKind::kStream;
    const Stage stage = stream ? Stage::kSend : Stage::kWrite;
    if (const auto written = Rehearsed(stage, output.name, base::ToDouble(output.rate))) {
      Add(stage, output.name, written, std::nullopt);
    }
  }

  /// Our own sinks, which stand for the network's far end.
  void AddSinks() {
    if (!results_.rehearsal || !(results_.rehearsal->seconds > 0)) {
      return;
    }
    double seconds = 0;
    for (const bench::StageCost& cost : results_.rehearsal->stages) {
      seconds += cost.stage == Stage::kSink ? cost.cpu_seconds : 0;
    }
    if (seconds > 0) {
      Add(Stage::kSink, "", seconds / results_.rehearsal->seconds, std::nullopt);
    }
  }

  const profiles::Profile& profile_;
  const bench::Results& results_;
  CpuModel model_;
};

/// Share of the multiview's reading that one more picture of this size adds.
double MultiviewGrowth(const profiles::Profile& profile, const profiles::Source& source) {
  auto read = static_cast<double>(profile.program_raster.Pixels());
  for (const profiles::Source& one : profile.sources) {
    read += static_cast<double>(one.raster.Pixels());
  }
  return static_cast<double>(source.raster.Pixels()) / read;
}

/// The sources of a kind, their isos, and the encodes of these.
std::vector<std::string> ItemsOf(const profiles::Profile& profile,
                                 const profiles::SourceKind& kind) {
  std::vector<std::string> items = kind.members;
  for (const auto& of_encode : profiles::Encodes(profile.outputs)) {
    bool of_kind = false;
    for (const std::size_t at : of_encode) {
      const profiles::Output& output = profile.outputs[at];
      const bool taken =
          std::find(kind.members.begin(), kind.members.end(), output.takes) != kind.members.end();
      if (output.kind == profiles::OutputKind::kIso && taken) {
        of_kind = true;
        items.push_back(output.name);
      }
    }
    if (of_kind && of_encode.size() > 1) {
      items.push_back(profiles::EncodeName(profile.outputs, of_encode));
    }
  }
  return items;
}

}  // namespace

double CpuModel::Total() const {
  double sum = 0;
  for (const CpuPart& part : parts) {
    sum += part.cpus;
  }
  return sum;
}

double CpuModel::Of(const std::string& item) const {
  double sum = 0;
  for (const CpuPart& part : parts) {
    sum += part.item == item ? part.cpus : 0;
  }
  return sum;
}

std::optional<CpuModel> ModelCpu(const profiles::Profile& profile, const bench::Results& results) {
  const bool rehearsed = results.rehearsal && !results.rehearsal->stages.empty();
  const bool costed = results.costs && !results.costs->entries.empty();
  if (!rehearsed && !costed) {
    return std::nullopt;
  }
  return Modeller(profile, results).Model();
}

AddedCpu CpuOfOneMore(const CpuModel& model, const profiles::Profile& profile,
                      const profiles::SourceKind& kind) {
  AddedCpu added;
  const std::vector<std::string> items = ItemsOf(profile, kind);
  for (const CpuPart& part : model.parts) {
    if (std::find(items.begin(), items.end(), part.item) != items.end()) {
      added.own += part.cpus;
      added.basis = part.basis == Basis::kMeasured ? added.basis : part.basis;
    }
    if (part.stage == Stage::kMultiview) {
      const profiles::Source* const like = profiles::FindSource(profile, kind.like);
      added.multiview = like == nullptr ? 0 : part.cpus * MultiviewGrowth(profile, *like);
    }
  }
  added.own /= static_cast<double>(std::max<std::size_t>(1, kind.members.size()));
  for (const std::string& item : items) {
    added.told =
        added.told && std::none_of(model.not_told.begin(), model.not_told.end(),
                                   [&](const UntoldPart& part) { return part.item == item; });
  }
  return added;
}

}  // namespace report
