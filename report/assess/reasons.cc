// SPDX-License-Identifier: Apache-2.0
//
// Headline and reasons in plain words.

#include <algorithm>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/stats/drop_bound.h"
#include "base/text.h"
#include "report/assess/verdict.h"
#include "report/headroom/fair_test.h"
#include "report/headroom/headroom.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

// The stage that lost most frames, with its count.
std::string WorstStage(const bench::Rehearsal& rehearsal) {
  std::map<bench::Stage, std::int64_t> frames;
  for (const bench::DropRun& drop : rehearsal.drops) {
    if (drop.at_s >= rehearsal.warm_up_seconds) {
      frames[drop.stage] += drop.frames;
    }
  }
  const auto worst =
      std::max_element(frames.begin(), frames.end(),
                       [](const auto& a, const auto& b) { return a.second < b.second; });
  return worst == frames.end() ? std::string() : std::string(base::WordOf(worst->first));
}

/// "7 output frames and 1 camera frame were": the two are never one number.
std::string LostText(const JudgedRun& run) {
  std::string text;
  if (run.output_dropped > 0) {
    text = CountText(run.output_dropped, "output frame", "output frames");
  }
  if (run.feed_dropped > 0) {
    text += (text.empty() ? "" : " and ") +
            CountText(run.feed_dropped, "camera frame", "camera frames");
  }
  return text + (run.Dropped() == 1 ? " was" : " were");
}

/// "3 of 598 output frames dropped", and camera frames that no output tells of.
std::string LostOfText(const JudgedRun& run) {
  std::string text = fmt::format("{} of {}", run.output_dropped,
                                 CountText(run.due, "output frame", "output frames"));
  if (run.feed_dropped > 0) {
    text += fmt::format(" and {} of {}", run.feed_dropped,
                        CountText(run.feed_due, "camera frame", "camera frames"));
  }
  return text + " dropped";
}

std::string DropText(const Facts& facts) {
  const JudgedRun& run = *facts.run;
  const std::string stage = WorstStage(*facts.results().rehearsal);
  std::string text = fmt::format("{} dropped in {} of rehearsal after the warm-up", LostText(run),
                                 base::FormatSeconds(run.hours * 3600));
  if (!stage.empty()) {
    text += ", most at the " + stage + " stage";
  }
  return text;
}

std::string OverText(const Headroom& row) {
  if (row.resource == Resource::kEncoder && row.unit == "x real time") {
    return fmt::format("full-speed run: 1 x real time needed, {} available",
                       FormatAvailable(*row.capacity, row.unit));
  }
  return fmt::format(
      "{}: {} needed, {} available", ResourceText(row), FormatNeeded(row.demand, row.unit),
      *row.capacity > 0 ? FormatAvailable(*row.capacity, row.unit) : std::string("none"));
}

std::string MarginText(const Headroom& row) {
  return fmt::format("{} has {} headroom, its margin is {}", ResourceText(row),
                     FormatHeadroomPercent(*row.headroom_percent, row.margin_percent),
                     FormatMarginPercent(row.margin_percent));
}

std::string UnknownText(const Headroom& row) {
  if (row.source == kNoCameraThere) {
    return "no camera was found on " + ResourceText(row);
  }
  return fmt::format("{}: {}", ResourceText(row), row.source);
}

std::string IncompleteText(const bench::Rehearsal& rehearsal) {
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    if (!output.failure.empty()) {
      return fmt::format("output {} ended early: {}", base::Printable(output.name),
                         base::Printable(output.failure));
    }
  }
  if (rehearsal.complete) {
    return rehearsal.seconds <= rehearsal.warm_up_seconds
               ? "the rehearsal ended during its warm-up: nothing was judged"
               : "no frame was due";
  }
  return (rehearsal.outputs.empty() ? "the rehearsal could not start: "
                                    : "the rehearsal was cut short: ") +
         (rehearsal.stopped_because.empty() ? std::string("no reason given")
                                            : base::Printable(rehearsal.stopped_because));
}

bool CutShort(const Facts& facts) {
  const auto& rehearsal = facts.results().rehearsal;
  if (!rehearsal) {
    return false;
  }
  const bool failed = std::any_of(rehearsal->outputs.begin(), rehearsal->outputs.end(),
                                  [](const auto& output) { return !output.failure.empty(); });
  return !rehearsal->complete || failed || facts.run->due <= 0 || facts.run->hours <= 0;
}

std::string BoundText(const Facts& facts) {
  const JudgedRun& run = *facts.run;
  std::string text =
      fmt::format("{} in {}: at most {} drops an hour (95 %)", LostOfText(run),
                  base::FormatSeconds(run.hours * 3600), FormatAtMost(run.upper_per_hour));
  const double limit = facts.profile().margins.allowed_drops_per_hour;
  if (run.upper_per_hour > limit && limit > 0 && run.Dropped() == 0) {
    text += fmt::format("; a rehearsal of {} without a drop would prove the limit of {:g} an hour",
                        base::FormatSeconds(base::SecondsToProve(limit)), limit);
  } else if (run.upper_per_hour > limit && limit <= 0) {
    text += "; no rehearsal, however long, proves that no frame is ever dropped";
  }
  return text;
}

// What is known speaks first: a rehearsal that held is worth knowing.
std::string UnprovenText(const Facts& facts, const Headroom* unknown) {
  if (CutShort(facts)) {
    return IncompleteText(*facts.results().rehearsal);
  }
  std::string missing =
      unknown != nullptr ? UnknownText(*unknown) : std::string("nothing was rehearsed");
  if (!facts.run) {
    return missing;
  }
  const JudgedRun& run = *facts.run;
  return fmt::format("the rehearsal held ({}{}), but {}", LostOfText(run),
                     run.Dropped() > 0 ? ", within what the profile allows" : "", missing);
}

std::string Sentence(const std::string& text) {
  return Capitalised(text) + ".";
}

std::string TookText(const FairTest& fair) {
  std::string text;
  for (const TakenByOthers& taken : fair.took) {
    text += (text.empty() ? "" : "; ") + taken.text;
  }
  return text;
}

/// What comes first where other programs spoilt the test.
std::string NotFairText(const FairTest& fair, bool is_short, const std::string& limit) {
  return is_short ? fmt::format("{}; {}; it is short {}", limit, TookText(fair), fair.arithmetic)
                  : "not a fair test, " + TookText(fair);
}

std::string WhatLimits(const Facts& facts, const std::vector<Headroom>& headroom, Verdict verdict) {
  const auto over = std::find_if(headroom.begin(), headroom.end(), OverCapacity);
  const auto unknown = std::find_if(headroom.begin(), headroom.end(),
                                    [](const Headroom& row) { return !row.capacity; });
  const auto below = std::find_if(headroom.begin(), headroom.end(), BelowMargin);
  const bool dropped = facts.run && facts.run->Dropped() > 0;
  switch (verdict) {
    case Verdict::kShort:
      return over == headroom.end() || (dropped && !facts.run->Permitted()) ? DropText(facts)
                                                                            : OverText(*over);
    case Verdict::kUnproven:
      return UnprovenText(facts, unknown != headroom.end() ? &*unknown : nullptr);
    case Verdict::kTight:
      return below != headroom.end() ? "holds, but " + MarginText(*below)
                                     : DropText(facts) + ", within what the profile allows";
    case Verdict::kReady:
      break;
  }
  if (headroom.empty()) {
    return "nothing dropped";
  }
  return "nothing dropped, and the tightest resource has room: " + MarginText(headroom.front());
}

std::string LimitText(const Facts& facts, const std::vector<Headroom>& headroom, Verdict verdict) {
  const FairTest fair = JudgeFairness(facts, headroom);
  const std::string limit = WhatLimits(facts, headroom, verdict);
  return fair.fair == false ? NotFairText(fair, verdict == Verdict::kShort, limit) : limit;
}

// Rows that are proven in the same way share a line.
void AddUnknown(const std::vector<Headroom>& headroom, std::vector<std::string>& reasons) {
  std::vector<std::pair<std::string, std::vector<std::string>>> by_proof;
  for (const Headroom& row : headroom) {
    if (row.capacity) {
      continue;
    }
    auto found = std::find_if(by_proof.begin(), by_proof.end(),
                              [&](const auto& group) { return group.first == row.how_to_prove; });
    if (found == by_proof.end()) {
      found = by_proof.insert(by_proof.end(), {row.how_to_prove, {}});
    }
    found->second.push_back(UnknownText(row));
  }
  for (const auto& [proof, rows] : by_proof) {
    reasons.push_back(Sentence(fmt::format("{}. To prove {}: {}", fmt::join(rows, "; "),
                                           rows.size() == 1 ? "it" : "them", proof)));
  }
}

void AddRows(const std::vector<Headroom>& headroom, std::vector<std::string>& reasons) {
  for (const Headroom& row : headroom) {
    if (OverCapacity(row)) {
      reasons.push_back(Sentence(OverText(row)));
    }
  }
  AddUnknown(headroom, reasons);
  for (const Headroom& row : headroom) {
    if (!OverCapacity(row) && BelowMargin(row)) {
      reasons.push_back(Sentence(MarginText(row)));
    }
  }
}

void AddFairness(const FairTest& fair, std::vector<std::string>& reasons) {
  if (fair.fair == false) {
    reasons.push_back(Sentence("not a fair test: " + TookText(fair)));
    if (fair.dropped_for_lack > 0) {
      reasons.push_back(Sentence(
          fmt::format("{} dropped while other programs left too little: this says nothing of the "
                      "PC without them",
                      CountText(fair.dropped_for_lack, "frame was", "frames were"))));
    }
    if (fair.short_anyway) {
      reasons.push_back(Sentence("it is short " + fair.arithmetic));
    }
    reasons.push_back(fair.command.empty()
                          ? "Close those programs and run it again for a fair test."
                          : "For a fair test close those programs, then run: " + fair.command);
  } else if (!fair.fair && fair.during) {
    reasons.push_back(Sentence("whether the test was fair is not known: " + fair.not_known));
  }
}

}  // namespace

std::string FirstLimit(const Facts& facts, const std::vector<Headroom>& headroom) {
  return Sentence(LimitText(facts, headroom, Judge(facts, headroom)));
}

std::string Headline(const Facts& facts, const std::vector<Headroom>& headroom) {
  const Verdict verdict = Judge(facts, headroom);
  const std::string limit = LimitText(facts, headroom, verdict);
  switch (verdict) {
    case Verdict::kReady:
      return "Ready: " + limit + ".";
    case Verdict::kTight:
      return "Tight: " + limit + ".";
    case Verdict::kShort:
      return "Short: " + limit + ".";
    case Verdict::kUnproven:
      break;
  }
  return "Unproven: " + limit + ".";
}

std::vector<std::string> Reasons(const Facts& facts, const std::vector<Headroom>& headroom) {
  std::vector<std::string> reasons;
  AddFairness(JudgeFairness(facts, headroom), reasons);
  const bool dropped = facts.run && facts.run->Dropped() > 0;
  if (dropped) {
    reasons.push_back(Sentence(DropText(facts) +
                               (facts.run->Permitted() ? ", within what the profile allows" : "")));
  }
  if (CutShort(facts)) {
    reasons.push_back(Sentence(IncompleteText(*facts.results().rehearsal)));
  }
  AddRows(headroom, reasons);
  if (reasons.empty() && !headroom.empty()) {
    reasons.push_back(
        Sentence("every margin stays free; tightest: " + MarginText(headroom.front())));
  }
  if (facts.run && facts.run->due > 0 && facts.run->hours > 0) {
    reasons.push_back(Sentence(BoundText(facts)));
  }
  return reasons;
}

}  // namespace report
