// SPDX-License-Identifier: Apache-2.0

#include "report/cpu/size_cpu.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "profiles/demand/encode_sharing.h"
#include "profiles/pixel_formats.h"
#include "report/cpu/size_references.h"

namespace report {
namespace {

using bench::Stage;

// How far off a part is (assumed): as another of its kind was measured, scaled by pixels, scaled by
// what is known less well.
constexpr double kAlike = 0.20;
/// Where a run at full speed had several of them.
constexpr double kTogether = 0.10;
constexpr double kByPixels = 0.30;
constexpr double kByGuess = 0.50;
/// CPU of handing pictures to a hardware encoder against encoding them in software (assumed).
constexpr double kHandedToHardware = 0.15;

double Pixels(const profiles::Raster& raster) {
  return static_cast<double>(raster.Pixels());
}

double Ratio(double one, double other) {
  return other > 0 ? one / other : 1;
}

bool IsHardware(const profiles::Output& output) {
  return output.encoder == profiles::EncoderChoice::kHardware;
}

/// Bytes of a pixel as it is handed over; compressed forms count as the picture they hold.
double BytesPerPixel(const std::string& format) {
  const profiles::PixelFormat* const found = profiles::FindPixelFormat(format);
  constexpr double kTenthsInByte = 80;
  constexpr double kAsNv12 = 1.5;
  return found != nullptr && found->bits_per_pixel_x10 > 0
             ? found->bits_per_pixel_x10 / kTenthsInByte
             : kAsNv12;
}

/// A reference scaled by one thing after the other, with what that costs in sureness.
class Scaling {
 public:
  explicit Scaling(std::string from, double spread = kAlike)
      : from_(std::move(from)), spread_(spread) {}

  void By(double ratio, double spread, const std::string& what) {
    if (std::abs(ratio - 1) < 1e-9) {
      return;
    }
    factor_ *= ratio;
    spread_ = std::max(spread_, spread);
    from_ += fmt::format("{} x {:.3g} for {}", scaled_ ? "," : "", ratio, what);
    scaled_ = true;
  }

  double factor() const { return factor_; }
  double spread() const { return spread_; }
  const std::string& from() const { return from_; }

 private:
  std::string from_;
  double factor_ = 1;
  double spread_;
  bool scaled_ = false;
};

class Scaler {
 public:
  Scaler(const Evidence& evidence, const profiles::Profile& changed)
      : evidence_(evidence), was_(evidence.profile), is_(changed), references_(evidence) {}

  ScaledCpu Scale() {
    for (const profiles::Source& source : is_.sources) {
      AddSource(source);
    }
    AddCanvas(Stage::kCompose, was_.program_raster, was_.program_rate, is_.program_raster,
              is_.program_rate, 1);
    AddMultiview();
    AddAudio();
    for (const auto& of_encode : profiles::Encodes(is_.outputs)) {
      AddEncode(of_encode);
    }
    for (const profiles::Output& output : is_.outputs) {
      AddWriting(output);
    }
    AddSinks();
    return std::move(scaled_);
  }

 private:
  void Add(Stage stage, const std::string& item, const StageFigure& figure, double rate,
           const Scaling& scaling) {
    ScaledPart part;
    part.stage = stage;
    part.item = item;
    part.cpus = figure.ms_per_frame / 1000 * rate * scaling.factor();
    part.spread = scaling.spread();
    part.basis = figure.basis;
    part.from = scaling.from();
    part.assumed = scaling.spread() >= kByGuess;
    scaled_.parts.push_back(std::move(part));
  }

  void AddUnchanged(Stage stage, const std::string& item, const StageFigure& figure, double rate) {
    Add(stage, item, figure, rate, Scaling("as it was"));
    scaled_.parts.back().spread = 0;
    scaled_.parts.back().unchanged = true;
  }

  void NotTold(Stage stage, const std::string& item) { scaled_.not_told.push_back({stage, item}); }

  void AddSource(const profiles::Source& source) {
    const double rate = base::ToDouble(source.rate);
    const profiles::Source* const same = profiles::FindSource(was_, source.name);
    const bool decoded = profiles::ComesInPackets(source);
    const Stage main_stage = decoded ? Stage::kDecode : Stage::kConvert;
    if (same != nullptr && SamePicture(*same, source) && references_.Of(main_stage, same->name)) {
      for (const Stage stage : kSourceStages) {
        if (const auto figure = references_.Of(stage, source.name)) {
          AddUnchanged(stage, source.name, *figure, rate);
        }
      }
      return;
    }
    const profiles::Source* const like = references_.SourceLike(source, same);
    if (like == nullptr) {
      AddFromSingleFrames(source, main_stage, rate);
      return;
    }
    for (const Stage stage : kSourceStages) {
      const auto figure = references_.MeanOfKind(stage, *like);
      if (figure) {
        Add(stage, source.name, *figure, rate, ScaleSource(*like, source));
      }
    }
  }

  void AddFromSingleFrames(const profiles::Source& source, Stage stage, double rate) {
    if (const auto figure = references_.OfSingleFrames(stage, source)) {
      Scaling scaling("from single frames");
      scaling.By(figure->scale, kByPixels, "its pixels");
      Add(stage, source.name, figure->figure, rate, scaling);
      return;
    }
    NotTold(stage, source.name);
  }

  /// Several sources as this one, with their isos, ran at full speed.
  bool RanTogether(const profiles::Source* source) const {
    const auto& runs = evidence_.results.grown_flat_out;
    return source != nullptr && std::any_of(runs.begin(), runs.end(), [&](const auto& grown) {
             const profiles::Source* const like = profiles::FindSource(was_, grown.like);
             return grown.run.complete && like != nullptr && SamePicture(*like, *source);
           });
  }

  Scaling ScaleSource(const profiles::Source& like, const profiles::Source& source) const {
    Scaling scaling("as " + like.name, RanTogether(&like) ? kTogether : kAlike);
    scaling.By(Ratio(Pixels(source.raster), Pixels(like.raster)), kByPixels, "its pixels");
    if (like.pixel_format != source.pixel_format) {
      scaling.By(Ratio(BytesPerPixel(source.pixel_format), BytesPerPixel(like.pixel_format)),
                 kByGuess, "bytes of its format (assumed)");
    }
    return scaling;
  }

  void AddCanvas(Stage stage, const profiles::Raster& old_raster, const base::Rational& old_rate,
                 const profiles::Raster& raster, const base::Rational& rate, double read_ratio) {
    const auto figure = references_.Of(stage, "");
    if (!figure) {
      const auto single = references_.CanvasOfSingleFrames(stage, raster);
      if (!single) {
        NotTold(stage, "");
        return;
      }
      Scaling scaling("from single frames");
      scaling.By(read_ratio, kByPixels, "the pictures it reads");
      Add(stage, "", *single, base::ToDouble(rate), scaling);
      return;
    }
    if (raster == old_raster && rate == old_rate && read_ratio == 1) {
      AddUnchanged(stage, "", *figure, base::ToDouble(rate));
      return;
    }
    Scaling scaling("as it was");
    scaling.By(Ratio(Pixels(raster), Pixels(old_raster)), kByPixels, "its pixels");
    scaling.By(read_ratio, kByPixels, "the pictures it reads");
    Add(stage, "", *figure, base::ToDouble(rate), scaling);
  }

  static double PixelsRead(const profiles::Profile& profile) {
    double read = Pixels(profile.program_raster);
    for (const profiles::Source& source : profile.sources) {
      read += Pixels(source.raster);
    }
    return read;
  }

  void AddMultiview() {
    if (!is_.multiview) {
      return;
    }
    if (!was_.multiview) {
      NotTold(Stage::kMultiview, "");
      return;
    }
    AddCanvas(Stage::kMultiview, was_.multiview->raster, was_.multiview->rate,
              is_.multiview->raster, is_.multiview->rate, Ratio(PixelsRead(is_), PixelsRead(was_)));
  }

  void AddAudio() {
    if (!is_.audio) {
      return;
    }
    constexpr double kSamplesOfAacFrame = 1024;  // ISO/IEC 14496-3, one long window
    const auto figure = references_.Of(Stage::kAudio, "");
    if (!figure) {
      NotTold(Stage::kAudio, "");
      return;
    }
    AddUnchanged(Stage::kAudio, "", *figure, is_.audio->sample_rate_hz / kSamplesOfAacFrame);
  }

  void AddEncode(const std::vector<std::size_t>& of_encode) {
    const profiles::Output& output = is_.outputs[of_encode.front()];
    const std::string name = profiles::EncodeName(is_.outputs, of_encode);
    const double rate = base::ToDouble(output.rate);
    const auto reference = references_.EncodeLike(output, is_);
    if (!reference) {
      NotTold(Stage::kEncode, name);
      return;
    }
    if (reference->same) {
      AddUnchanged(Stage::kEncode, name, reference->figure, rate);
      return;
    }
    Add(Stage::kEncode, name, reference->figure, rate, ScaleEncode(*reference, output));
  }

  Scaling ScaleEncode(const EncodeReference& reference, const profiles::Output& output) const {
    const profiles::Output& like = *reference.like;
    const bool together = RanTogether(profiles::FindSource(was_, like.takes));
    Scaling scaling("as " + like.name, together ? kTogether : kAlike);
    scaling.By(Ratio(Pixels(output.raster), Pixels(like.raster)), kByPixels, "its pixels");
    if (IsHardware(output) != IsHardware(like)) {
      scaling.By(IsHardware(output) ? kHandedToHardware : 1 / kHandedToHardware, kByGuess,
                 "an encoder in hardware (assumed)");
    } else if (!IsHardware(output)) {
      scaling.By(EffortRatio(output.effort) / EffortRatio(like.effort), kByGuess,
                 "its effort (as on one PC)");
    }
    const double bits = Ratio(output.bitrate_kbps, like.bitrate_kbps);
    const double bits_per_pixel = bits / Ratio(Pixels(output.raster) * base::ToDouble(output.rate),
                                               Pixels(like.raster) * base::ToDouble(like.rate));
    // Three times the bits took 1.45 times the CPU (libx264 superfast, measured on one PC).
    constexpr double kPowerOfBits = 0.33;
    scaling.By(std::pow(bits_per_pixel, kPowerOfBits), kByPixels,
               "its bits a pixel (as on one PC)");
    return scaling;
  }

  void AddWriting(const profiles::Output& output) {
    const bool stream = output.kind == profiles::OutputKind::kStream;
    const Stage stage = stream ? Stage::kSend : Stage::kWrite;
    const double rate = base::ToDouble(output.rate);
    const auto like = references_.WriterLike(stage, output);
    if (!like) {
      return;  // as in the model of the production as it is: where none is told it is little
    }
    if (like->same && like->like->bitrate_kbps == output.bitrate_kbps) {
      AddUnchanged(stage, output.name, like->figure, rate);
      return;
    }
    Scaling scaling("as " + like->like->name);
    scaling.By(Ratio(output.bitrate_kbps / rate,
                     like->like->bitrate_kbps / base::ToDouble(like->like->rate)),
               kByPixels, "its bits a picture");
    Add(stage, output.name, like->figure, rate, scaling);
  }

  static double StreamKbps(const profiles::Profile& profile) {
    double kbps = 0;
    for (const profiles::Output& output : profile.outputs) {
      kbps += output.kind == profiles::OutputKind::kStream ? output.bitrate_kbps : 0;
    }
    return kbps;
  }

  /// Our own sinks, which stand for the network's far end.
  void AddSinks() {
    const double cpus = references_.SinkCpus();
    if (cpus <= 0) {
      return;
    }
    const double ratio = Ratio(StreamKbps(is_), StreamKbps(was_));
    ScaledPart part{Stage::kSink,     "",          cpus * ratio, ratio == 1 ? 0 : kByPixels,
                    Basis::kMeasured, "as it was", ratio == 1};
    scaled_.parts.push_back(std::move(part));
  }

  const Evidence& evidence_;
  const profiles::Profile& was_;
  const profiles::Profile& is_;
  References references_;
  ScaledCpu scaled_;
};

}  // namespace

double ScaledCpu::Total() const {
  double sum = 0;
  for (const ScaledPart& part : parts) {
    sum += part.cpus;
  }
  return sum;
}

double ScaledCpu::Spread() const {
  double sum = 0;
  for (const ScaledPart& part : parts) {
    sum += part.unchanged ? 0 : part.cpus * part.spread;
  }
  return sum;
}

double EffortRatio(profiles::Effort effort) {
  // libx264's ultrafast, superfast, veryfast and medium: CPU of a picture of "talk", 640x360 at
  // 3000 kb/s, measured in one rehearsal on one PC.
  switch (effort) {
    case profiles::Effort::kLeast:
      return 1;
    case profiles::Effort::kLow:
      return 1.9;
    case profiles::Effort::kMedium:
      return 3.2;
    case profiles::Effort::kHigh:
      break;
  }
  return 8.5;
}

ScaledCpu ScaleCpu(const Evidence& evidence, const profiles::Profile& changed) {
  return Scaler(evidence, changed).Scale();
}

double CpusDue(const Evidence& evidence) {
  const auto& rehearsal = evidence.results.rehearsal;
  if (!rehearsal || rehearsal->stages.empty()) {
    return 0;  // single frames tell of work that may not have been rehearsed so
  }
  double cpus = 0;
  for (const ScaledPart& part : ScaleCpu(evidence, evidence.profile).parts) {
    cpus += bench::IsSimulation(part.stage) ? 0 : part.cpus;
  }
  return cpus;
}

}  // namespace report
