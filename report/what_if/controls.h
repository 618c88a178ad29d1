// SPDX-License-Identifier: Apache-2.0
//
// What of a production a reader may change, and the production with that changed.

#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "profiles/profile.h"
#include "report/data/document.h"
#include "report/data/what_if_model.h"

namespace report {

/// Inputs that do not exist, where there is one choice only.
inline constexpr int kNoInput = -1;

/// The picture of a source or of the program; outputs that had it follow.
struct PictureControls {
  std::vector<profiles::Raster> rasters;
  std::vector<base::Rational> rates;
  int raster_input = kNoInput;
  int rate_input = kNoInput;
  std::size_t raster_now = 0;
  std::size_t rate_now = 0;
};

/// Sources alike, of which there may be more or fewer; the last one goes first.
struct SourceControls {
  std::vector<std::string> members;
  PictureControls picture;
  int count_input = kNoInput;
  int most = 0;
};

/// What an output is taken from: the number of its SourceControls, or one of these.
inline constexpr int kFromProgram = -1;
inline constexpr int kFromMultiview = -2;

/// One output, or the outputs alike of all sources of a kind, in the order of the sources.
struct OutputControls {
  std::vector<std::size_t> outputs;  // of the profile
  int from = kFromProgram;
  bool of_each = false;  // goes and comes with its source
  std::vector<int> kbps;
  std::vector<std::string> codecs;
  std::vector<profiles::Effort> efforts;
  std::vector<profiles::EncoderChoice> encoders;
  int kbps_input = kNoInput;
  int codec_input = kNoInput;
  int effort_input = kNoInput;
  int encoder_input = kNoInput;
};

struct WhatIfControls {
  profiles::Profile production;
  std::vector<WhatIfInput> inputs;
  int minutes_input = kNoInput;
  PictureControls program;
  std::vector<SourceControls> sources;
  std::vector<OutputControls> outputs;
};

WhatIfControls ControlsOf(const Evidence& evidence);

/// The production with the inputs set so; one value for each.
profiles::Profile Applied(const WhatIfControls& controls, const std::vector<double>& values);

/// Sets the picture of the program, and of the outputs that have it.
void SetProgramPicture(const profiles::Raster& raster, const base::Rational& rate,
                       profiles::Profile& profile);
/// Sets the picture of one source, and of the outputs that have it.
void SetSourcePicture(const std::string& name, const profiles::Raster& raster,
                      const base::Rational& rate, profiles::Profile& profile);

}  // namespace report
