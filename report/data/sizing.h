// SPDX-License-Identifier: Apache-2.0
//
// What a stored result says of a production with something added or changed.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/data/comparison.h"
#include "report/data/document.h"

namespace report {

/// How sure it is on which side of its capacity a resource ends up.
enum class Sureness {
  kSure,    // both ends of the interval are on that side
  kLikely,  // the expected figure is, an end of the interval is not
  kOpen,    // not known
};

/// One resource for the changed production.
struct SizedResource {
  Resource resource = Resource::kCpu;
  std::string item;
  std::string unit;
  double now = 0;    // the production as it was
  double asked = 0;  // with what is added and changed
  std::optional<double> capacity;
  std::optional<double> headroom_percent;
  std::optional<double> lowest_percent;   // headroom at the ends of the interval; the same as
  std::optional<double> highest_percent;  // headroom_percent where arithmetic gives one figure
  double margin_percent = 0;
  Basis basis = Basis::kComputed;
  Sureness sureness = Sureness::kOpen;
  std::string source;        // where both figures come from
  std::string how_to_prove;  // which run tells, where nothing does
};

/// What a remedy asks of people, from the least to the most.
enum class RemedyCost { kPlug, kSetting, kWorkPerPicture, kPicture, kPart };

/// Something to change on this PC or in the production.
struct Remedy {
  std::string what;                  // a sentence
  std::vector<std::string> changes;  // as --change takes them; empty for a plug
  RemedyCost cost = RemedyCost::kSetting;
  Verdict verdict = Verdict::kUnproven;  // of the production then
  bool sufficient = false;               // it fits, every margin kept
  bool assumed = false;                  // a part of its effect is assumed, not measured
  std::string effect;                    // "cpu 4 % -> 31 %"
  double worst_above_margin = 0;         // percent, of the tightest resource then
};

/// One line of what to buy.
struct Purchase {
  std::string what;  // "encode speed", "USB controllers", "disk rate" ...
  double amount = 0;
  std::optional<double> lowest;  // interval
  std::optional<double> highest;
  std::string unit;
  std::string text;  // for a shop, a sentence
  std::string from;  // which figures it comes from
};

/// What a rehearsal of the changed production showed.
struct SizingCheck {
  double seconds = 0;
  std::int64_t due = 0;
  std::int64_t dropped = 0;
  bool carried = false;
  double predicted_cpus = 0;
  double measured_cpus = 0;
  double off_percent = 0;  // predicted against measured
  Verdict verdict = Verdict::kUnproven;
  std::string text;
  std::string not_done;  // why there was none; empty when there was
};

struct Sizing {
  ComparedResult result;
  std::vector<ChangedFact> changes;  // the production asked about against the stored one
  Verdict verdict = Verdict::kUnproven;
  Sureness sureness = Sureness::kOpen;
  std::string headline;
  std::string runs_out_first;  // "cpu"; with how far it is from there; empty: nothing is told
  std::vector<SizedResource> resources;  // tightest first
  std::vector<std::string> unproven;     // what is not told, and which run would
  std::vector<Remedy> remedies;          // cheapest sufficient first
  std::vector<Purchase> purchases;       // where no remedy suffices
  std::vector<std::string> basis;
  std::vector<std::string> cautions;
  std::optional<SizingCheck> check;
};

}  // namespace report
