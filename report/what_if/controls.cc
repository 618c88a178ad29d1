// SPDX-License-Identifier: Apache-2.0
//
// Choices beside what the production has: usual pictures, bit rates around its own.

#include "report/what_if/controls.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "profiles/demand/containers.h"
#include "profiles/demand/encode_sharing.h"
#include "profiles/text/growth.h"
#include "profiles/words.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr int kMostAdded = 8;
constexpr int kLongestMinutes = 24 * 60;

template <typename T>
std::size_t PlaceOf(const std::vector<T>& all, const T& one) {
  return static_cast<std::size_t>(std::find(all.begin(), all.end(), one) - all.begin());
}

class Collecting {
 public:
  explicit Collecting(const Evidence& evidence) : evidence_(evidence) {
    controls_.production = evidence.profile;
  }

  WhatIfControls Collect() {
    const profiles::Profile& profile = controls_.production;
    WhatIfInput minutes{"Production", "Length", "minutes", 1, kLongestMinutes, 1, 0, {}};
    minutes.now = std::clamp(profile.duration_minutes, 1, kLongestMinutes);
    controls_.minutes_input = Put(std::move(minutes));
    controls_.program =
        PictureOf("Programme picture", profile.program_raster, profile.program_rate);
    for (const profiles::SourceKind& kind : profiles::KindsOfSources(profile)) {
      AddKind(kind);
    }
    for (std::size_t output = 0; output < profile.outputs.size(); ++output) {
      AddOutput(output);
    }
    return std::move(controls_);
  }

 private:
  int Put(WhatIfInput input) {
    controls_.inputs.push_back(std::move(input));
    return static_cast<int>(controls_.inputs.size()) - 1;
  }

  int PutChoice(const std::string& group, const std::string& label,
                std::vector<std::string> choices, std::size_t now) {
    if (choices.size() < 2) {
      return kNoInput;
    }
    const auto last = static_cast<double>(choices.size() - 1);
    return Put({group, label, "", 0, last, 1, static_cast<double>(now), std::move(choices)});
  }

  PictureControls PictureOf(const std::string& group, const profiles::Raster& raster,
                            const base::Rational& rate) {
    PictureControls picture;
    picture.rasters = {{1280, 720}, {1920, 1080}, {3840, 2160}};
    if (PlaceOf(picture.rasters, raster) == picture.rasters.size()) {
      picture.rasters.push_back(raster);
    }
    std::sort(picture.rasters.begin(), picture.rasters.end(),
              [](const auto& a, const auto& b) { return a.Pixels() < b.Pixels(); });
    const bool by_1001 = rate.denominator() == 1001;
    picture.rates = {base::Rational(25), by_1001 ? base::Rational(30000, 1001) : base::Rational(30),
                     base::Rational(50),
                     by_1001 ? base::Rational(60000, 1001) : base::Rational(60)};
    if (PlaceOf(picture.rates, rate) == picture.rates.size()) {
      picture.rates.push_back(rate);
    }
    std::sort(picture.rates.begin(), picture.rates.end());
    picture.raster_now = PlaceOf(picture.rasters, raster);
    picture.rate_now = PlaceOf(picture.rates, rate);
    std::vector<std::string> rasters;
    for (const profiles::Raster& one : picture.rasters) {
      rasters.push_back(profiles::ToText(one));
    }
    std::vector<std::string> rates;
    for (const base::Rational& one : picture.rates) {
      rates.push_back(base::ToShortText(one));
    }
    picture.raster_input = PutChoice(group, "Raster", std::move(rasters), picture.raster_now);
    picture.rate_input = PutChoice(group, "Pictures a second", std::move(rates), picture.rate_now);
    return picture;
  }

  /// Whether some output that is no iso takes it: it cannot go, and none can come like it.
  bool TakenByItself(const std::string& source) const {
    const auto& outputs = controls_.production.outputs;
    return std::any_of(outputs.begin(), outputs.end(), [&](const profiles::Output& output) {
      return output.takes == source && output.kind != profiles::OutputKind::kIso;
    });
  }

  void AddKind(const profiles::SourceKind& kind) {
    SourceControls alike;
    for (const std::string& member : kind.members) {
      if (TakenByItself(member)) {
        SourceControls alone;
        alone.members = {member};
        alone.most = 1;
        AddSources(std::move(alone));
      } else {
        alike.members.push_back(member);
      }
    }
    if (!alike.members.empty()) {
      const int more = profiles::MostAddedSources(controls_.production, alike.members.front());
      alike.most = static_cast<int>(alike.members.size()) + std::min(kMostAdded, more);
      AddSources(std::move(alike));
    }
  }

  void AddSources(SourceControls sources) {
    const auto present = static_cast<int>(sources.members.size());
    const profiles::Source first =
        *profiles::FindSource(controls_.production, sources.members.front());
    const std::string group =
        "Source " + first.name + (present > 1 ? fmt::format(" and {} like it", present - 1) : "");
    if (!TakenByItself(first.name)) {
      sources.count_input = Put({group,
                                 "How many",
                                 "",
                                 0,
                                 static_cast<double>(sources.most),
                                 1,
                                 static_cast<double>(present),
                                 {}});
    }
    sources.picture = PictureOf(group, first.raster, first.rate);
    controls_.sources.push_back(std::move(sources));
  }

  int FromOf(const profiles::Output& output) const {
    for (std::size_t i = 0; i < controls_.sources.size(); ++i) {
      const auto& members = controls_.sources[i].members;
      if (std::find(members.begin(), members.end(), output.takes) != members.end()) {
        return static_cast<int>(i);
      }
    }
    return output.takes == profiles::kTakesMultiview ? kFromMultiview : kFromProgram;
  }

  /// The outputs that stand in the same place of the sources of its kind, in the order of these.
  std::vector<std::size_t> OfEach(std::size_t number, const SourceControls& sources) const {
    const auto& outputs = controls_.production.outputs;
    const auto isos_of = [&](const std::string& source) {
      std::vector<std::size_t> isos;
      for (std::size_t i = 0; i < outputs.size(); ++i) {
        if (outputs[i].kind == profiles::OutputKind::kIso && outputs[i].takes == source) {
          isos.push_back(i);
        }
      }
      return isos;
    };
    const std::size_t place = PlaceOf(isos_of(outputs[number].takes), number);
    std::vector<std::size_t> of_each;
    for (const std::string& member : sources.members) {
      of_each.push_back(isos_of(member).at(place));
    }
    return of_each;
  }

  bool Held(std::size_t output) const {
    return std::any_of(controls_.outputs.begin(), controls_.outputs.end(), [&](const auto& one) {
      return std::find(one.outputs.begin(), one.outputs.end(), output) != one.outputs.end();
    });
  }

  void AddOutput(std::size_t number) {
    if (Held(number)) {
      return;
    }
    OutputControls one;
    const auto& outputs = controls_.production.outputs;
    one.from = FromOf(outputs[number]);
    one.of_each = one.from >= 0 && outputs[number].kind == profiles::OutputKind::kIso;
    one.outputs = one.of_each
                      ? OfEach(number, controls_.sources[static_cast<std::size_t>(one.from)])
                      : std::vector<std::size_t>{number};
    const profiles::Output& output = outputs[one.outputs.front()];
    const std::string group =
        "Output " + output.name +
        (one.outputs.size() > 1 ? fmt::format(" and {} like it", one.outputs.size() - 1) : "");
    AddBitRates(output, group, one);
    AddEncoding(output, group, one);
    controls_.outputs.push_back(std::move(one));
  }

  /// Around its own, and those of the others that take the same: one encode may then serve both.
  void AddBitRates(const profiles::Output& output, const std::string& group, OutputControls& one) {
    constexpr std::array<double, 7> kShares{0.25, 0.5, 0.75, 1, 1.5, 2, 3};
    constexpr int kLeastKbps = 100;
    for (const double share : kShares) {
      one.kbps.push_back(std::max(kLeastKbps, static_cast<int>(output.bitrate_kbps * share)));
    }
    for (const profiles::Output& other : controls_.production.outputs) {
      if (other.takes == output.takes && other.codec == output.codec) {
        one.kbps.push_back(other.bitrate_kbps);
      }
    }
    one.kbps.push_back(output.bitrate_kbps);
    std::sort(one.kbps.begin(), one.kbps.end());
    one.kbps.erase(std::unique(one.kbps.begin(), one.kbps.end()), one.kbps.end());
    std::vector<std::string> texts;
    for (const int kbps : one.kbps) {
      texts.push_back(FormatCount(kbps) + " kb/s");
    }
    one.kbps_input =
        PutChoice(group, "Bit rate", std::move(texts), PlaceOf(one.kbps, output.bitrate_kbps));
  }

  bool HardwareKnown() const {
    const auto& trials = evidence_.inventory.codecs.trials;
    const auto& outputs = controls_.production.outputs;
    return std::any_of(trials.begin(), trials.end(),
                       [](const auto& trial) { return trial.encoder && trial.hardware; }) ||
           std::any_of(outputs.begin(), outputs.end(), [](const auto& output) {
             return output.encoder == profiles::EncoderChoice::kHardware;
           });
  }

  void AddEncoding(const profiles::Output& output, const std::string& group, OutputControls& one) {
    using profiles::Effort;
    using profiles::EncoderChoice;
    one.codecs = profiles::CodecsIn(output.container);
    if (PlaceOf(one.codecs, output.codec) == one.codecs.size()) {
      one.codecs = {output.codec};
    }
    one.efforts = {Effort::kLeast, Effort::kLow, Effort::kMedium, Effort::kHigh};
    one.encoders = {output.encoder};
    if (HardwareKnown()) {
      one.encoders = {EncoderChoice::kSoftware, EncoderChoice::kHardware, EncoderChoice::kAny};
    }
    one.codec_input = PutChoice(group, "Codec", one.codecs, PlaceOf(one.codecs, output.codec));
    one.effort_input =
        PutChoice(group, "Effort", WordsOf(one.efforts), PlaceOf(one.efforts, output.effort));
    one.encoder_input =
        PutChoice(group, "Encoder", WordsOf(one.encoders), PlaceOf(one.encoders, output.encoder));
  }

  template <typename Choice>
  static std::vector<std::string> WordsOf(const std::vector<Choice>& choices) {
    std::vector<std::string> words;
    for (const Choice choice : choices) {
      words.emplace_back(profiles::ToWord(choice));
    }
    return words;
  }

  const Evidence& evidence_;
  WhatIfControls controls_;
};

}  // namespace

WhatIfControls ControlsOf(const Evidence& evidence) {
  return Collecting(evidence).Collect();
}

}  // namespace report
