// SPDX-License-Identifier: Apache-2.0

#include "report/predict/size_ideas.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <utility>

#include <fmt/format.h>

#include "profiles/text/change.h"
#include "profiles/words.h"

namespace report {
namespace {

enum Group { kHardware, kEffort, kMultiview, kIsoPicture, kIsoBits, kSourcePicture, kDisk };

/// Lower efforts first, as far down as each goes.
constexpr std::array kEfforts{profiles::Effort::kLeast, profiles::Effort::kLow,
                              profiles::Effort::kMedium};

class Ideas {
 public:
  Ideas(const Sizer& sizer, const profiles::Profile& changed) : sizer_(sizer), changed_(changed) {}

  std::vector<Idea> All() {
    AddHardware();
    AddMultiview();
    AddEfforts();
    AddIsoPictures();
    AddAddedPictures();
    AddSecondDisk();
    return std::move(ideas_);
  }

 private:
  bool Any(bool isos_only, const auto& test) const {
    return std::any_of(changed_.outputs.begin(), changed_.outputs.end(), [&](const auto& output) {
      return (!isos_only || output.kind == profiles::OutputKind::kIso) && test(output);
    });
  }

  /// Nothing is added without a change.
  void Add(std::string what, std::vector<std::string> changes, RemedyCost cost, Group group) {
    if (!changes.empty()) {
      ideas_.push_back({std::move(what), std::move(changes), cost, group});
    }
  }

  /// The change for the outputs that pass the test: in one for the whole group where all do, else
  /// by name.
  std::vector<std::string> For(bool isos_only, const std::string& member_and_value,
                               const auto& test) const {
    std::vector<std::string> changes;
    bool all = true;
    for (const profiles::Output& output : changed_.outputs) {
      if (isos_only && output.kind != profiles::OutputKind::kIso) {
        continue;
      }
      const bool named = output.name.find('=') == std::string::npos;
      if (test(output) && named) {
        changes.push_back(output.name + "." + member_and_value);
      } else {
        all = false;
      }
    }
    if (all && !changes.empty()) {
      return {(isos_only ? "isos." : "outputs.") + member_and_value};
    }
    return changes;
  }

  void AddHardware() {
    const auto& codecs = sizer_.evidence().inventory.codecs;
    const auto works = [&codecs](const profiles::Output& output) {
      return output.encoder != profiles::EncoderChoice::kHardware &&
             std::any_of(codecs.trials.begin(), codecs.trials.end(), [&](const auto& trial) {
               return trial.encoder && trial.hardware && trial.works && trial.codec == output.codec;
             });
    };
    Add("Encode the isos in hardware", For(true, "encoder=hardware", works), RemedyCost::kSetting,
        kHardware);
    Add("Encode in hardware what can be", For(false, "encoder=hardware", works),
        RemedyCost::kSetting, kHardware);
  }

  void AddMultiview() {
    if (!changed_.multiview) {
      return;
    }
    const double rate = base::ToDouble(changed_.multiview->rate);
    constexpr double kSlowest = 20;
    if (rate / 2 >= kSlowest) {
      const base::Rational half = changed_.multiview->rate / std::int64_t{2};
      Add("Draw the multiview at half its rate", {"multiview.rate=" + base::ToText(half)},
          RemedyCost::kWorkPerPicture, kMultiview);
    }
    Add("Do without the multiview", {"multiview=none"}, RemedyCost::kPicture, kMultiview);
  }

  void AddEfforts() {
    for (const profiles::Effort effort : kEfforts) {
      const auto dearer = [effort](const profiles::Output& output) {
        return output.encoder != profiles::EncoderChoice::kHardware &&
               static_cast<int>(output.effort) > static_cast<int>(effort);
      };
      const std::string word(profiles::ToWord(effort));
      Add(fmt::format("Encode the isos with effort \"{}\"", word),
          For(true, "effort=" + word, dearer), RemedyCost::kWorkPerPicture, kEffort);
      Add(fmt::format("Encode every output with effort \"{}\"", word),
          For(false, "effort=" + word, dearer), RemedyCost::kWorkPerPicture, kEffort);
    }
  }

  void AddIsoPictures() {
    const profiles::Raster small{1280, 720};
    Add("Record the isos at 1280x720",
        For(true, "raster=1280x720",
            [&](const auto& output) { return output.raster.Pixels() > small.Pixels(); }),
        RemedyCost::kPicture, kIsoPicture);
    int most_kbps = 0;
    for (const profiles::Output& output : changed_.outputs) {
      most_kbps = output.kind == profiles::OutputKind::kIso
                      ? std::max(most_kbps, output.bitrate_kbps)
                      : most_kbps;
    }
    constexpr int kWorthHalving = 2000;
    const int half = most_kbps / 2;
    if (most_kbps >= kWorthHalving) {
      Add(fmt::format("Record the isos at {} kb/s", half),
          For(true, fmt::format("bitrate_kbps={}", half),
              [half](const auto& output) { return output.bitrate_kbps > half; }),
          RemedyCost::kPicture, kIsoBits);
    }
  }

  /// Sources that the stored production does not have.
  void AddAddedPictures() {
    const profiles::Raster small{1280, 720};
    std::vector<std::string> changes;
    for (const profiles::Source& source : changed_.sources) {
      const bool added = profiles::FindSource(sizer_.evidence().profile, source.name) == nullptr;
      if (added && source.raster.Pixels() > small.Pixels()) {
        changes.push_back(source.name + ".raster=1280x720");
      }
    }
    if (!changes.empty()) {
      Add("Take what is added in at 1280x720", changes, RemedyCost::kPicture, kSourcePicture);
    }
  }

  void AddSecondDisk() {
    const auto writes = [](const profiles::Output& output) {
      return output.kind != profiles::OutputKind::kStream && output.folder != profiles::kSecondDisk;
    };
    if (sizer_.evidence().inventory.storage.empty() || !Any(false, writes)) {
      return;
    }
    const std::string folder = std::string(".folder=") + std::string(profiles::kSecondDisk);
    if (Any(true, writes)) {
      Add("Record the isos to a second disk as fast and as large as the first", {"isos" + folder},
          RemedyCost::kPart, kDisk);
    } else {
      Add("Record to a second disk as fast and as large as the first", {"recordings" + folder},
          RemedyCost::kPart, kDisk);
    }
  }

  const Sizer& sizer_;
  const profiles::Profile& changed_;
  std::vector<Idea> ideas_;
};

}  // namespace

std::vector<Idea> IdeasFor(const Sizer& sizer, const profiles::Profile& changed) {
  return Ideas(sizer, changed).All();
}

}  // namespace report
