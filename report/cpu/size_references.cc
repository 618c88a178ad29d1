// SPDX-License-Identifier: Apache-2.0

#include "report/cpu/size_references.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <tuple>

#include "bench/data/results.h"
#include "profiles/demand/encode_sharing.h"
#include "profiles/pixel_formats.h"
#include "report/cpu/encode_costs.h"

namespace report {
namespace {

/// CPU time of one frame of this stage, raster and form: the dearest of the costs that are of it.
/// Nothing where none is, or where nothing was timed.
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

/// A frame as a source hands it over, and one that is drawn.
bench::CostSubject SourceFrame(const profiles::Source& source) {
  return {source.raster.width, source.raster.height,
          source.pixel_format.empty() ? source.codec : source.pixel_format};
}

bench::CostSubject DrawnFrame(const profiles::Raster& raster) {
  return {raster.width, raster.height, ""};
}

constexpr double kMs = 1000;

bool Raw(const profiles::Source& source) {
  return !profiles::ComesInPackets(source);
}

double Apart(double one, double other) {
  return one > 0 && other > 0 ? std::abs(std::log(one / other)) : 1e6;
}

double RasterApart(const profiles::Raster& one, const profiles::Raster& other) {
  return Apart(static_cast<double>(one.Pixels()), static_cast<double>(other.Pixels()));
}

/// What content an output shows: isos of two sources of one content are alike.
profiles::Content ContentOf(const profiles::Profile& profile, const profiles::Output& output) {
  const profiles::Source* const source = profiles::FindSource(profile, output.takes);
  return source == nullptr ? profiles::Content::kTalk : source->content;
}

}  // namespace

bool SamePicture(const profiles::Source& one, const profiles::Source& other) {
  return one.arrives_by == other.arrives_by && one.raster == other.raster &&
         one.pixel_format == other.pixel_format && one.codec == other.codec &&
         one.bitrate_kbps == other.bitrate_kbps && one.transport == other.transport &&
         one.content == other.content;
}

std::optional<StageFigure> References::Of(bench::Stage stage, const std::string& item) const {
  const auto& rehearsal = evidence_.results.rehearsal;
  if (!rehearsal) {
    return std::nullopt;
  }
  StageFigure figure;
  bool found = false;
  for (const bench::StageCost& cost : rehearsal->stages) {
    // Frames that took no CPU time at all: it was not read (a kernel without schedstat).
    if (cost.stage == stage && cost.item == item && cost.frames > 0 && cost.cpu_seconds != 0) {
      figure.ms_per_frame += cost.cpu_seconds * kMs / static_cast<double>(cost.frames);
      found = true;
    }
  }
  return found ? std::optional(figure) : std::nullopt;
}

std::optional<StageFigure> References::MeanOfKind(bench::Stage stage,
                                                  const profiles::Source& like) const {
  StageFigure mean;
  int count = 0;
  for (const profiles::Source& source : evidence_.profile.sources) {
    if (SamePicture(source, like)) {
      if (const auto figure = Of(stage, source.name)) {
        mean.ms_per_frame += figure->ms_per_frame;
        ++count;
      }
    }
  }
  if (count == 0) {
    return std::nullopt;
  }
  mean.ms_per_frame /= count;
  return mean;
}

const profiles::Source* References::SourceLike(const profiles::Source& source,
                                               const profiles::Source* same) const {
  const profiles::Source* nearest = nullptr;
  auto best = std::make_tuple(true, true, 1e9, true);
  for (const profiles::Source& one : evidence_.profile.sources) {
    const bool raw = Raw(one) && Raw(source);
    const bool same_form = one.pixel_format == source.pixel_format && one.codec == source.codec &&
                           (one.arrives_by == profiles::ArrivesBy::kNetwork) ==
                               (source.arrives_by == profiles::ArrivesBy::kNetwork);
    const bool measured =
        Of(Raw(one) ? bench::Stage::kConvert : bench::Stage::kDecode, one.name).has_value();
    if ((!same_form && !raw) || !measured) {
      continue;
    }
    const auto order = std::make_tuple(!same_form, one.content != source.content,
                                       RasterApart(one.raster, source.raster), &one != same);
    if (nearest == nullptr || order < best) {
      nearest = &one;
      best = order;
    }
  }
  return nearest;
}

std::optional<SingleFrames> References::OfSingleFrames(bench::Stage stage,
                                                       const profiles::Source& source) const {
  const auto frame_ms = FrameCpuMs(evidence_.results.costs, stage, SourceFrame(source));
  return frame_ms ? std::optional(SingleFrames{{*frame_ms, Basis::kComputed}}) : std::nullopt;
}

std::optional<StageFigure> References::CanvasOfSingleFrames(bench::Stage stage,
                                                            const profiles::Raster& raster) const {
  const auto frame_ms = FrameCpuMs(evidence_.results.costs, stage, DrawnFrame(raster));
  return frame_ms ? std::optional(StageFigure{*frame_ms, Basis::kComputed}) : std::nullopt;
}

std::optional<StageFigure> References::OfEncode(const profiles::Output& output) const {
  for (const auto& of_encode : profiles::Encodes(evidence_.profile.outputs)) {
    const bool in_it = std::any_of(of_encode.begin(), of_encode.end(), [&](std::size_t at) {
      return evidence_.profile.outputs[at].name == output.name;
    });
    if (in_it) {
      const auto figure =
          Of(bench::Stage::kEncode, profiles::EncodeName(evidence_.profile.outputs, of_encode));
      if (figure) {
        return figure;
      }
    }
  }
  if (!evidence_.results.costs) {
    return std::nullopt;
  }
  profiles::Profile alone = evidence_.profile;
  alone.outputs = {output};
  const auto cpus = EncodeCpus(*evidence_.results.costs, alone);
  const double rate = base::ToDouble(output.rate);
  return cpus && rate > 0 ? std::optional(StageFigure{*cpus / rate * kMs, Basis::kComputed})
                          : std::nullopt;
}

std::optional<EncodeReference> References::EncodeLike(const profiles::Output& output,
                                                      const profiles::Profile& of) const {
  std::optional<EncodeReference> nearest;
  auto best = std::make_tuple(true, true, true, true, 1e9, 1e9, true);
  const profiles::Profile& profile = evidence_.profile;
  for (const profiles::Output& one : profile.outputs) {
    if (one.codec != output.codec) {
      continue;
    }
    const bool same_content = ContentOf(profile, one) == ContentOf(of, output);
    const bool same_drawing = (profiles::FindSource(profile, one.takes) == nullptr) ==
                              (profiles::FindSource(of, output.takes) == nullptr);
    const auto order =
        std::make_tuple(one.encoder != output.encoder, one.effort != output.effort, !same_drawing,
                        !same_content, RasterApart(one.raster, output.raster),
                        Apart(one.bitrate_kbps, output.bitrate_kbps), one.name != output.name);
    if (nearest && !(order < best)) {
      continue;
    }
    if (const auto figure = OfEncode(one)) {
      const bool alike = one.encoder == output.encoder && one.effort == output.effort &&
                         one.raster == output.raster && one.bitrate_kbps == output.bitrate_kbps &&
                         one.name == output.name && one.takes == output.takes;
      nearest = EncodeReference{&one, *figure, alike};
      best = order;
    }
  }
  return nearest;
}

std::optional<EncodeReference> References::WriterLike(bench::Stage stage,
                                                      const profiles::Output& output) const {
  std::optional<EncodeReference> nearest;
  double best = 0;
  for (const profiles::Output& one : evidence_.profile.outputs) {
    const bool stream = one.kind == profiles::OutputKind::kStream;
    if (stream != (stage == bench::Stage::kSend)) {
      continue;
    }
    const bool same = one.name == output.name;
    const double apart = same ? -1 : Apart(one.bitrate_kbps, output.bitrate_kbps);
    if (nearest && apart >= best) {
      continue;
    }
    if (const auto figure = Of(stage, one.name)) {
      nearest = EncodeReference{&one, *figure, same};
      best = apart;
    }
  }
  return nearest;
}

double References::SinkCpus() const {
  const auto& rehearsal = evidence_.results.rehearsal;
  if (!rehearsal || !(rehearsal->seconds > 0)) {
    return 0;
  }
  double seconds = 0;
  for (const bench::StageCost& cost : rehearsal->stages) {
    seconds += cost.stage == bench::Stage::kSink ? cost.cpu_seconds : 0;
  }
  return seconds / rehearsal->seconds;
}

}  // namespace report
