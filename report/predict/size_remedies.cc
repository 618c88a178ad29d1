// SPDX-License-Identifier: Apache-2.0

#include "report/predict/size_remedies.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/demand.h"
#include "profiles/text/change.h"
#include "report/headroom/headroom.h"
#include "report/headroom/resource_room.h"
#include "report/loads/facts.h"
#include "report/moves/plan.h"
#include "report/predict/size_ideas.h"
#include "report/words/quantities.h"

namespace report {
namespace {

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
    text += fmt::format("{}{} {} -> {}", told == 0 ? "" : ", ", RowName(row.resource, row.item),
                        FormatHeadroomPercent(*row.headroom_percent, row.margin_percent),
                        FormatHeadroomPercent(*then->headroom_percent, then->margin_percent));
    ++told;
  }
  return text;
}

/// It fits with its margins, as far as anything is known: what was not proven before may stay so.
bool Suffices(const SizedProduction& before, const SizedProduction& after) {
  const bool below = std::any_of(after.resources.begin(), after.resources.end(), Below);
  return after.verdict == Verdict::kReady ||
         (!below && after.unproven.size() <= before.unproven.size() && !before.unproven.empty());
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
    remedy.sufficient = Suffices(before_, after);
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

/// Of a camera that no port is left for.
bool NoPort(const SizedResource& row) {
  return row.resource == Resource::kUsb && row.capacity == 0.0;
}

/// A plug that the move plan would put elsewhere, where USB is what is short.
std::optional<Remedy> TryMoves(const Sizer& sizer, const profiles::Profile& changed,
                               const SizedProduction& before) {
  const bool usb_short = std::any_of(
      before.resources.begin(), before.resources.end(),
      [](const SizedResource& row) { return row.resource == Resource::kUsb && Below(row); });
  if (!usb_short || sizer.evidence().length == kRehearsalOnly) {
    return std::nullopt;
  }
  Evidence asked = WithoutSeries(sizer.evidence());
  asked.profile = changed;
  asked.demand = profiles::SumDemand(changed);
  std::vector<Finding> none;
  const auto plan = PlanMoves(GatherFacts(asked), none);
  if (!plan || plan->moves.empty() || plan->percent_after >= plan->percent_before) {
    return std::nullopt;
  }
  SizedProduction after = before;
  auto& rows = after.resources;
  rows.erase(std::remove_if(
                 rows.begin(), rows.end(),
                 [](const auto& row) { return row.resource == Resource::kUsb && !NoPort(row); }),
             rows.end());
  SizedResource links;
  links.resource = Resource::kUsb;
  links.item = "fullest link after the moves";
  links.headroom_percent = AsTold(100 - plan->percent_after);
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
  remedy.sufficient = Suffices(before, after);
  remedy.worst_above_margin = WorstAboveMargin(after);
  remedy.effect =
      fmt::format("fullest USB link {} -> {} in use", FormatUsePercent(plan->percent_before),
                  FormatUsePercent(plan->percent_after));
  return remedy;
}

void TryPairs(const Trying& trying, const std::vector<const Idea*>& ideas,
              std::vector<Remedy>& remedies) {
  for (std::size_t i = 0; i < ideas.size(); ++i) {
    for (std::size_t j = i + 1; j < ideas.size(); ++j) {
      if (ideas[i]->group == ideas[j]->group) {
        continue;
      }
      auto remedy = trying.Try(Both(*ideas[i], *ideas[j]));
      if (remedy && remedy->verdict != Verdict::kShort) {
        remedies.push_back(*std::move(remedy));
      }
    }
  }
}

/// One from each group, always the one that helps most, until it fits.
void TryTogether(const Trying& trying, const std::vector<const Idea*>& ideas,
                 std::vector<Remedy>& remedies) {
  std::optional<Idea> together;
  std::set<int> used;
  std::optional<Remedy> reached;
  while (!reached || !reached->sufficient) {
    std::optional<Remedy> best;
    const Idea* chosen = nullptr;
    for (const Idea* const idea : ideas) {
      if (used.contains(idea->group)) {
        continue;
      }
      auto remedy = trying.Try(together ? Both(*together, *idea) : *idea);
      if (remedy && (!best || remedy->worst_above_margin > best->worst_above_margin)) {
        best = std::move(remedy);
        chosen = idea;
      }
    }
    if (chosen == nullptr || (reached && best->worst_above_margin <= reached->worst_above_margin)) {
      break;
    }
    together = together ? Both(*together, *chosen) : *chosen;
    used.insert(chosen->group);
    reached = std::move(best);
  }
  if (reached && used.size() > 2 && reached->verdict != Verdict::kShort) {
    remedies.push_back(*std::move(reached));
  }
}

/// What suffices first, and of that what asks least of people.
bool Cheaper(const Remedy& a, const Remedy& b) {
  const auto order = [](const Remedy& remedy) {
    const bool short_of_it = VerdictOrder(remedy) == 2;
    return std::make_tuple(VerdictOrder(remedy), short_of_it ? 0 : static_cast<int>(remedy.cost),
                           short_of_it ? std::size_t{0} : remedy.changes.size(),
                           -remedy.worst_above_margin);
  };
  return order(a) < order(b);
}

}  // namespace

std::vector<Remedy> FindRemedies(const Sizer& sizer, const profiles::Profile& changed,
                                 const SizedProduction& sized) {
  const std::vector<Idea> ideas = IdeasFor(sizer, changed);
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
  const auto suffices = [](const Remedy& remedy) { return remedy.sufficient; };
  if (std::none_of(remedies.begin(), remedies.end(), suffices)) {
    TryPairs(trying, helpful, remedies);
  }
  if (std::none_of(remedies.begin(), remedies.end(), suffices)) {
    TryTogether(trying, helpful, remedies);
  }
  std::stable_sort(remedies.begin(), remedies.end(), Cheaper);
  remedies.resize(std::min(remedies.size(), kMostRemedies));
  return remedies;
}

}  // namespace report
