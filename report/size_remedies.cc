#include "report/size_remedies.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <optional>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/change.h"
#include "profiles/demand.h"
#include "profiles/words.h"
#include "report/facts.h"
#include "report/headroom.h"
#include "report/move_plan.h"
#include "report/quantities.h"
#include "report/resource_room.h"
#include "report/size_words.h"

namespace report {
namespace {

/// A change to try.
struct Idea {
  std::string what;
  std::vector<std::string> changes;
  RemedyCost cost = RemedyCost::kSetting;
  int group = 0;  // of two from one group only one makes sense
};

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

  void Add(std::string what, std::vector<std::string> changes, RemedyCost cost, Group group) {
    ideas_.push_back({std::move(what), std::move(changes), cost, group});
  }

  void AddHardware() {
    const auto& codecs = sizer_.evidence().inventory.codecs;
    const auto works = [&codecs](const profiles::Output& output) {
      return output.encoder != profiles::EncoderChoice::kHardware &&
             std::any_of(codecs.trials.begin(), codecs.trials.end(), [&](const auto& trial) {
               return trial.encoder && trial.hardware && trial.works && trial.codec == output.codec;
             });
    };
    if (Any(true, works)) {
      Add("Encode the isos in hardware", {"isos.encoder=hardware"}, RemedyCost::kSetting,
          kHardware);
    }
    if (Any(false, works)) {
      Add("Encode every output in hardware", {"outputs.encoder=hardware"}, RemedyCost::kSetting,
          kHardware);
    }
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
      if (Any(true, dearer)) {
        Add(fmt::format("Encode the isos with effort \"{}\"", word), {"isos.effort=" + word},
            RemedyCost::kWorkPerPicture, kEffort);
      }
      if (Any(false, dearer)) {
        Add(fmt::format("Encode every output with effort \"{}\"", word), {"outputs.effort=" + word},
            RemedyCost::kWorkPerPicture, kEffort);
      }
    }
  }

  void AddIsoPictures() {
    const profiles::Raster small{1280, 720};
    if (Any(true, [&](const auto& output) { return output.raster.Pixels() > small.Pixels(); })) {
      Add("Record the isos at 1280x720", {"isos.raster=1280x720"}, RemedyCost::kPicture,
          kIsoPicture);
    }
    int most_kbps = 0;
    for (const profiles::Output& output : changed_.outputs) {
      most_kbps = output.kind == profiles::OutputKind::kIso
                      ? std::max(most_kbps, output.bitrate_kbps)
                      : most_kbps;
    }
    constexpr int kWorthHalving = 2000;
    if (most_kbps >= kWorthHalving) {
      Add(fmt::format("Record the isos at {} kb/s", most_kbps / 2),
          {fmt::format("isos.bitrate_kbps={}", most_kbps / 2)}, RemedyCost::kPicture, kIsoBits);
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

double WorstAboveMargin(const SizedProduction& sized) {
  for (const SizedResource& row : sized.resources) {
    if (row.headroom_percent) {
      return *row.headroom_percent - row.margin_percent;  // tightest first
    }
  }
  return 0;
}

const SizedResource* SameRow(const SizedProduction& sized, const SizedResource& row) {
  const auto found =
      std::find_if(sized.resources.begin(), sized.resources.end(), [&row](const auto& other) {
        return other.resource == row.resource && other.item == row.item;
      });
  return found == sized.resources.end() ? nullptr : &*found;
}

/// "cpu 4 % -> 31 %, encoder whole pipeline -2 % -> 20 %": resources that were short of something.
std::string EffectText(const SizedProduction& before, const SizedProduction& after) {
  constexpr double kOnePoint = 1;
  std::string text;
  int told = 0;
  for (const SizedResource& row : before.resources) {
    const SizedResource* const then = SameRow(after, row);
    if (told >= 3 || !row.headroom_percent || then == nullptr || !then->headroom_percent ||
        std::abs(*then->headroom_percent - *row.headroom_percent) < kOnePoint) {
      continue;
    }
    text += fmt::format("{}{} {} -> {}", told == 0 ? "" : ", ", SizedName(row),
                        FormatHeadroomPercent(*row.headroom_percent),
                        FormatHeadroomPercent(*then->headroom_percent));
    ++told;
  }
  return text;
}

class Trying {
 public:
  Trying(const Sizer& sizer, const profiles::Profile& changed, const SizedProduction& before)
      : sizer_(sizer), changed_(changed), before_(before) {}

  /// Nothing where the idea cannot be, or helps nothing that is short.
  std::optional<Remedy> Try(const Idea& idea) const {
    profiles::Profile profile = changed_;
    for (const std::string& change : idea.changes) {
      auto with = profiles::WithChange(profile, change);
      if (!with) {
        return std::nullopt;
      }
      profile = *std::move(with);
    }
    const SizedProduction after = sizer_.Size(profile);
    Remedy remedy;
    remedy.what = idea.what;
    remedy.changes = idea.changes;
    remedy.cost = idea.cost;
    remedy.verdict = after.verdict;
    remedy.sufficient = after.verdict == Verdict::kReady;
    remedy.assumed = after.assumed || idea.cost == RemedyCost::kPart;
    remedy.worst_above_margin = WorstAboveMargin(after);
    remedy.effect = EffectText(before_, after);
    const bool helps = HelpsWhatIsShort(after);
    return helps ? std::optional(std::move(remedy)) : std::nullopt;
  }

 private:
  bool HelpsWhatIsShort(const SizedProduction& after) const {
    constexpr double kOnePoint = 1;
    for (const SizedResource& row : before_.resources) {
      const SizedResource* const then = SameRow(after, row);
      if (Below(row) &&
          (then == nullptr || (then->headroom_percent &&
                               *then->headroom_percent > *row.headroom_percent + kOnePoint))) {
        return true;
      }
    }
    return false;
  }

  const Sizer& sizer_;
  const profiles::Profile& changed_;
  const SizedProduction& before_;
};

Idea Both(const Idea& one, const Idea& other) {
  Idea both = one;
  both.what += "; and " + std::string(1, static_cast<char>(std::tolower(other.what[0]))) +
               other.what.substr(1);
  both.changes.insert(both.changes.end(), other.changes.begin(), other.changes.end());
  both.cost = std::max(one.cost, other.cost);
  return both;
}

int VerdictOrder(const Remedy& remedy) {
  return remedy.verdict == Verdict::kReady ? 0 : remedy.verdict == Verdict::kTight ? 1 : 2;
}

/// A plug that the move plan would put elsewhere, where USB is what is short.
std::optional<Remedy> TryMoves(const Sizer& sizer, const profiles::Profile& changed,
                               const SizedProduction& before) {
  const bool usb_short =
      std::any_of(before.resources.begin(), before.resources.end(),
                  [](const SizedResource& row) { return row.resource == "usb" && Below(row); });
  if (!usb_short || sizer.evidence().length == kRehearsalOnly) {
    return std::nullopt;
  }
  Evidence asked = WithoutSeries(sizer.evidence());
  asked.profile = changed;
  asked.demand = profiles::SumDemand(changed);
  const auto plan = PlanMoves(GatherFacts(asked), {});
  if (!plan || plan->moves.empty() || plan->percent_after >= plan->percent_before) {
    return std::nullopt;
  }
  SizedProduction after = before;
  auto& rows = after.resources;
  rows.erase(std::remove_if(rows.begin(), rows.end(),
                            [](const auto& row) {
                              return row.resource == "usb" && !row.item.starts_with("a port for");
                            }),
             rows.end());
  SizedResource links;
  links.resource = "usb";
  links.item = "fullest link after the moves";
  links.headroom_percent = 100 - plan->percent_after;
  links.margin_percent = changed.margins.usb_percent;
  links.sureness = Sureness::kSure;
  rows.push_back(links);
  JudgeSized(sizer.cpu(), after);
  Remedy remedy;
  for (const Move& move : plan->moves) {
    remedy.what += (remedy.what.empty() ? "" : " ") + move.text;
  }
  remedy.cost = RemedyCost::kPlug;
  remedy.verdict = after.verdict;
  remedy.sufficient = after.verdict == Verdict::kReady;
  remedy.worst_above_margin = WorstAboveMargin(after);
  remedy.effect = fmt::format("fullest USB link {:.0f} % -> {:.0f} % in use", plan->percent_before,
                              plan->percent_after);
  return remedy;
}

}  // namespace

std::vector<Remedy> FindRemedies(const Sizer& sizer, const profiles::Profile& changed,
                                 const SizedProduction& sized) {
  const std::vector<Idea> ideas = Ideas(sizer, changed).All();
  const Trying trying(sizer, changed, sized);
  std::vector<Remedy> remedies;
  if (auto moves = TryMoves(sizer, changed, sized)) {
    remedies.push_back(*std::move(moves));
  }
  std::vector<const Idea*> helpful;
  for (const Idea& idea : ideas) {
    if (auto remedy = trying.Try(idea)) {
      remedies.push_back(*std::move(remedy));
      helpful.push_back(&idea);
    }
  }
  const auto sufficient = [](const Remedy& remedy) { return remedy.sufficient; };
  if (std::none_of(remedies.begin(), remedies.end(), sufficient)) {
    for (std::size_t i = 0; i < helpful.size(); ++i) {
      for (std::size_t j = i + 1; j < helpful.size(); ++j) {
        if (helpful[i]->group == helpful[j]->group) {
          continue;
        }
        auto remedy = trying.Try(Both(*helpful[i], *helpful[j]));
        if (remedy && remedy->verdict != Verdict::kShort) {
          remedies.push_back(*std::move(remedy));
        }
      }
    }
  }
  std::stable_sort(remedies.begin(), remedies.end(), [](const Remedy& a, const Remedy& b) {
    const auto order = [](const Remedy& remedy) {
      const bool short_of_it = VerdictOrder(remedy) == 2;
      return std::make_tuple(VerdictOrder(remedy), short_of_it ? 0 : static_cast<int>(remedy.cost),
                             remedy.changes.size(), -remedy.worst_above_margin);
    };
    return order(a) < order(b);
  });
  remedies.resize(std::min(remedies.size(), kMostRemedies));
  return remedies;
}

}  // namespace report
