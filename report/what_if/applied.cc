// SPDX-License-Identifier: Apache-2.0
//
// The production that a reader's inputs stand for, as `rigproof size` would be asked about it.

#include <algorithm>
#include <cmath>

#include "profiles/text/growth.h"
#include "profiles/words.h"
#include "report/what_if/controls.h"

namespace report {
namespace {

void Follow(std::string_view taken, const profiles::Raster& was_raster,
            const base::Rational& was_rate, const profiles::Source& picture,
            profiles::Profile& profile) {
  for (profiles::Output& output : profile.outputs) {
    if (output.takes == taken) {
      output.raster = output.raster == was_raster ? picture.raster : output.raster;
      output.rate = output.rate == was_rate ? picture.rate : output.rate;
    }
  }
}

class Applying {
 public:
  Applying(const WhatIfControls& controls, const std::vector<double>& values)
      : controls_(controls), values_(values), profile_(controls.production) {}

  profiles::Profile Apply() {
    profile_.duration_minutes =
        static_cast<int>(Value(controls_.minutes_input, profile_.duration_minutes));
    const PictureControls& program = controls_.program;
    SetProgramPicture(program.rasters.at(Choice(program.raster_input, program.raster_now)),
                      program.rates.at(Choice(program.rate_input, program.rate_now)), profile_);
    for (const SourceControls& sources : controls_.sources) {
      const PictureControls& picture = sources.picture;
      for (const std::string& name : sources.members) {
        SetSourcePicture(name, picture.rasters.at(Choice(picture.raster_input, picture.raster_now)),
                         picture.rates.at(Choice(picture.rate_input, picture.rate_now)), profile_);
      }
    }
    for (const OutputControls& output : controls_.outputs) {
      SetEncoding(output);
    }
    for (const SourceControls& sources : controls_.sources) {
      SetCount(sources);
    }
    return std::move(profile_);
  }

 private:
  double Value(int input, double otherwise) const {
    return input < 0 ? otherwise : std::round(values_.at(static_cast<std::size_t>(input)));
  }

  std::size_t Choice(int input, std::size_t now) const {
    return static_cast<std::size_t>(Value(input, static_cast<double>(now)));
  }

  void SetEncoding(const OutputControls& controls) {
    for (const std::size_t number : controls.outputs) {
      profiles::Output& output = profile_.outputs.at(number);
      if (controls.kbps_input >= 0) {
        output.bitrate_kbps = controls.kbps.at(Choice(controls.kbps_input, 0));
      }
      if (controls.codec_input >= 0) {
        output.codec = controls.codecs.at(Choice(controls.codec_input, 0));
      }
      if (controls.effort_input >= 0) {
        output.effort = controls.efforts.at(Choice(controls.effort_input, 0));
      }
      if (controls.encoder_input >= 0) {
        output.encoder = controls.encoders.at(Choice(controls.encoder_input, 0));
      }
    }
  }

  void SetCount(const SourceControls& sources) {
    const std::size_t present = sources.members.size();
    const std::size_t count = Choice(sources.count_input, present);
    if (count > present) {
      const auto grown = profiles::WithMoreSources(profile_, sources.members.front(),
                                                   static_cast<int>(count - present));
      if (grown) {
        profile_ = *grown;
      }
      return;
    }
    for (std::size_t gone = count; gone < present; ++gone) {
      const std::string& name = sources.members[gone];
      std::erase_if(profile_.outputs, [&](const auto& output) { return output.takes == name; });
      std::erase_if(profile_.sources, [&](const auto& source) { return source.name == name; });
    }
  }

  const WhatIfControls& controls_;
  const std::vector<double>& values_;
  profiles::Profile profile_;
};

}  // namespace

void SetProgramPicture(const profiles::Raster& raster, const base::Rational& rate,
                       profiles::Profile& profile) {
  profiles::Source picture;
  picture.raster = raster;
  picture.rate = rate;
  Follow(profiles::kTakesProgram, profile.program_raster, profile.program_rate, picture, profile);
  profile.program_raster = raster;
  profile.program_rate = rate;
}

void SetSourcePicture(const std::string& name, const profiles::Raster& raster,
                      const base::Rational& rate, profiles::Profile& profile) {
  for (profiles::Source& source : profile.sources) {
    if (source.name == name) {
      const profiles::Source was = source;
      source.raster = raster;
      source.rate = rate;
      Follow(name, was.raster, was.rate, source, profile);
    }
  }
}

profiles::Profile Applied(const WhatIfControls& controls, const std::vector<double>& values) {
  return Applying(controls, values).Apply();
}

}  // namespace report
