// SPDX-License-Identifier: Apache-2.0
//
// The stages whose cost is measured, one function a family: each registers
// what a profile needs, named "stage/detail".

#pragma once

#include <functional>
#include <string>
#include <vector>

#include <benchmark/benchmark.h>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/data/results.h"
#include "profiles/profile.h"

namespace bench::costs {

/// Does the work for frame `index` (0, 1, 2 ...) of a stage.
using OneFrame = std::function<base::Status(std::int64_t index)>;

/// No stage is begun once the program has run so long; those left out say so.
void SetBudget(double seconds);

/// Registers one benchmark: `prepare` and a few frames to warm up are not measured.
/// CPU time is that of the whole process, encoder and decoder threads included.
/// A name that is registered already is left out.
void RegisterStage(Stage stage, const std::string& detail, const CostSubject& of,
                   std::function<base::Result<OneFrame>()> prepare);

/// "copy" and "convert" of raw capture, "decode" of compressed capture and
/// network sources, for each kind of source.
void RegisterCapture(const profiles::Profile& profile);
/// "compose", "multiview", and "scale" where an output differs from what it takes.
void RegisterCanvases(const profiles::Profile& profile);
/// "encode" for each kind of output, with the encoder and threads of a rehearsal.
void RegisterEncodes(const profiles::Profile& profile);
/// "audio": one AAC frame.
void RegisterAudio(const profiles::Profile& profile);

/// What a camera or a drawn picture shows; `clip` is a file, for kClip.
struct Shown {
  profiles::Content content = profiles::Content::kTalk;
  std::string clip;
};

/// What an output that takes `takes` sees: its source's pictures; a picture
/// drawn from all sources shows the user's own clip where there is one, else
/// the hardest kind among them.
Shown ShownTo(const profiles::Profile& profile, const std::string& takes);

/// `count` painted pictures, or as many of the clip as there are, forth and
/// back so that they play in a circle without a cut. kInvalid for a bad clip.
base::Result<std::vector<base::FramePtr>> PicturesOf(const Shown& shown,
                                                     const profiles::Raster& raster, int count);

/// `count` painted pictures in the working format that move.
base::Result<std::vector<base::FramePtr>> PaintedPictures(profiles::Content content,
                                                          const profiles::Raster& raster,
                                                          int count);

}  // namespace bench::costs
