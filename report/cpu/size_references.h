// SPDX-License-Identifier: Apache-2.0
//
// Measured costs of a stored production that a part of a changed one is reckoned from.

#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "report/data/document.h"

namespace report {

/// CPU of one frame in one stage.
struct StageFigure {
  double ms_per_frame = 0;
  Basis basis = Basis::kMeasured;
};

/// A cost of single frames of another raster.
struct SingleFrames {
  StageFigure figure;
  double scale = 1;  // pixels wanted / pixels measured
};

/// An output that was rehearsed, and what a frame of it took.
struct EncodeReference {
  const profiles::Output* like = nullptr;
  StageFigure figure;
  bool same = false;  // nothing that costs is different
};

/// Stages that a source's own threads go through.
inline constexpr std::array kSourceStages{bench::Stage::kConvert, bench::Stage::kDecode,
                                          bench::Stage::kCapture, bench::Stage::kSimulate,
                                          bench::Stage::kReceive};

/// Whether two sources cost the same for each frame.
bool SamePicture(const profiles::Source& one, const profiles::Source& other);

/// Borrows the evidence: it lives no longer than that.
class References {
 public:
  explicit References(const Evidence& evidence) : evidence_(evidence) {}

  /// From the rehearsal.
  std::optional<StageFigure> Of(bench::Stage stage, const std::string& item) const;
  /// Mean over the sources that are as `like` is.
  std::optional<StageFigure> MeanOfKind(bench::Stage stage, const profiles::Source& like) const;
  /// The rehearsed source that is most like this one: same form and raster, then same form and the
  /// nearest raster, then another raw form. Null where only its kind of arrival was not rehearsed.
  const profiles::Source* SourceLike(const profiles::Source& source,
                                     const profiles::Source* same) const;
  std::optional<SingleFrames> OfSingleFrames(bench::Stage stage,
                                             const profiles::Source& source) const;
  std::optional<StageFigure> CanvasOfSingleFrames(bench::Stage stage,
                                                  const profiles::Raster& raster) const;
  /// The rehearsed output that costs most alike: same codec; then, in this order, encoder, effort,
  /// kind, raster, bit rate. `of` is the profile that `output` is in.
  std::optional<EncodeReference> EncodeLike(const profiles::Output& output,
                                            const profiles::Profile& of) const;
  /// The rehearsed output of the same stage (kWrite, kSend) with the nearest bit rate.
  std::optional<EncodeReference> WriterLike(bench::Stage stage,
                                            const profiles::Output& output) const;
  /// CPUs of the sinks that took streams in.
  double SinkCpus() const;

 private:
  std::optional<StageFigure> OfEncode(const profiles::Output& output) const;

  const Evidence& evidence_;
};

}  // namespace report
