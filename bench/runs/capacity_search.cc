// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/capacity_search.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

namespace bench {
namespace {

constexpr double kFullLoad = 0.9;      // of the CPUs there were; above it a run is near
constexpr double kFewDrops = 0.01;     // of the frames due; below it a run is near
constexpr std::size_t kMostRuns = 24;  // bisection of 16 with three runs each is below it

std::string Text(const base::Error& error) {
  return error.where.empty() ? error.detail : error.where + ": " + error.detail;
}

/// Load that was asked for: what was dropped was not worked on.
double OfferedLoad(const SearchRun& run) {
  const double lost =
      run.due > 0 ? static_cast<double>(run.dropped) / static_cast<double>(run.due) : 0;
  return run.load / std::max(0.2, 1 - lost);
}

/// What the runs with one number of sources said.
struct Tally {
  std::optional<bool> seemed;  // carried, in the last short run that proves nothing
  int carried = 0;             // runs that are believed
  int lost = 0;
  bool near = false;  // the last one that is believed was

  void Add(const SearchRun& run, TrialLength length) {
    if (length == TrialLength::kShort && (run.carried || Near(run))) {
      seemed = run.carried;
      return;
    }
    ++(run.carried ? carried : lost);
    near = Near(run);
  }

  bool Any() const { return carried + lost > 0; }
  bool Tied() const { return Any() && carried == lost; }
  bool Carried() const { return Any() ? carried > lost : seemed.value_or(false); }
  bool Lost() const { return Any() ? lost > carried : !seemed.value_or(true); }
  /// One run was far from the boundary, or another one agrees with it.
  bool Settled() const {
    return Any() && !Tied() && (!near || std::max(carried, lost) > 1 || seemed == Carried());
  }
};

struct Trial {
  int added = 0;
  TrialLength length = TrialLength::kShort;
};

class Search {
 public:
  Search(const SearchOptions& options, const SearchTrial& trial, const std::stop_token& stop)
      : options_(options), trial_(trial), stop_(stop) {
    result_.like = options.like;
    result_.limit = std::max(0, options.limit);
    result_.predicted = std::clamp(options.predicted, 0, result_.limit);
    not_carried_ = result_.limit + 1;
  }

  CapacitySearch Run() {
    std::optional<Trial> next;
    if (result_.limit > 0) {
      next = Trial{std::max(1, result_.predicted)};
    }
    while (next) {
      if (!RunOnce(*next)) {
        return result_;
      }
      Narrow();
      next = tallies_[next->added].Tied() ? next : Next();
    }
    result_.confirmed = carried_;
    return result_;
  }

 private:
  /// False: stopped, with the reason kept.
  bool RunOnce(const Trial& next) {
    if (stop_.stop_requested() || result_.runs.size() >= kMostRuns) {
      result_.stopped_because = stop_.stop_requested() ? "interrupted" : "no end after many runs";
      return false;
    }
    auto run = trial_(next.added, next.length);
    if (!run) {
      result_.stopped_because = Text(run.error());
      return false;
    }
    result_.runs.push_back(*run);
    tallies_[next.added].Add(*run, next.length);
    return true;
  }

  /// The smallest number that was not carried, and the largest below it that was.
  void Narrow() {
    not_carried_ = result_.limit + 1;
    for (const auto& [added, tally] : tallies_) {
      if (tally.Lost()) {
        not_carried_ = added;
        break;
      }
    }
    carried_ = 0;
    for (const auto& [added, tally] : tallies_) {
      if (added < not_carried_ && tally.Carried()) {
        carried_ = added;
      }
    }
  }

  bool Unsettled(int added) const {
    const auto found = tallies_.find(added);
    return found != tallies_.end() && !found->second.Settled();
  }

  /// Where a line through the loads of the plain profile and of the last run
  /// reaches the full machine.
  std::optional<int> Aimed() const {
    const SearchRun& last = result_.runs.back();
    const double each = (OfferedLoad(last) - options_.plain_load) / std::max(1, last.added);
    if (!(options_.plain_load > 0) || !(each > 0)) {
      return std::nullopt;
    }
    return static_cast<int>(
        std::clamp(std::floor((1 - options_.plain_load) / each), 0.0, 1.0 * result_.limit));
  }

  /// Nothing: both sides of the boundary are settled.
  std::optional<Trial> Next() {
    if (carried_ + 1 == not_carried_) {
      for (const int side : {carried_, not_carried_}) {
        if (Unsettled(side)) {
          return Trial{side, TrialLength::kWhole};
        }
      }
      return std::nullopt;
    }
    if (Aimed() == carried_ && Unsettled(carried_)) {
      return Trial{carried_, TrialLength::kWhole};  // the line says that no more will do
    }
    return Trial{not_carried_ <= result_.limit ? Between() : Upward()};
  }

  int Between() {
    int guess = Aimed().value_or((carried_ + not_carried_) / 2);
    if (narrowed_++ > 1) {
      guess = (carried_ + not_carried_) / 2;  // the line has missed twice
    }
    return std::clamp(guess, carried_ + 1, not_carried_ - 1);
  }

  int Upward() {
    constexpr int kTrusted = 2;  // so often the line's word is taken that the end is near
    const std::optional<int> aimed = Aimed();
    const bool trusted = aimed && upward_++ < kTrusted;
    const int stride = trusted ? 1 : 1 << std::clamp(upward_ - 1, 1, 4);
    return std::min(std::max(aimed.value_or(0), carried_ + stride), result_.limit);
  }

  const SearchOptions& options_;
  const SearchTrial& trial_;
  const std::stop_token& stop_;
  CapacitySearch result_;
  std::map<int, Tally> tallies_;
  int carried_ = 0;
  int not_carried_ = 0;
  int narrowed_ = 0;
  int upward_ = 0;
};

}  // namespace

bool Near(const SearchRun& run) {
  if (run.carried) {
    return run.load > kFullLoad;
  }
  return run.due <= 0 ||
         static_cast<double>(run.dropped) < kFewDrops * static_cast<double>(run.due);
}

CapacitySearch SearchCapacity(const SearchOptions& options, const SearchTrial& trial,
                              const std::stop_token& stop) {
  return Search(options, trial, stop).Run();
}

}  // namespace bench
