// SPDX-License-Identifier: Apache-2.0
//
// What two results, or many, say of each other; what the writers of a comparison get.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/data/document.h"

namespace report {

/// How a figure of the second result stands against the first.
enum class Standing {
  kBetter,
  kWorse,
  kSame,     // no real difference: no more than chance and runs of one PC make
  kUnsure,   // differs, but there is one figure each and nothing tells chance from change
  kNotTold,  // one of the two has no such figure
};

/// One figure in both results.
struct ComparedFigure {
  std::string group;  // "headroom", "rehearsal", "disk", "costs", "room"
  std::string what;   // "full-speed run"
  std::string item;   // which output, folder, stage; may be empty
  std::string unit;
  bool higher_is_better = true;
  std::optional<double> before;
  std::optional<double> after;
  std::optional<double> change;   // after - before; of rates of events after / before
  std::optional<double> low;      // 95 % interval of `change`
  std::optional<double> high;     // nothing with a `low`: without end
  std::optional<double> p_value;  // corrected for the number of tests of this comparison
  std::string test;               // by name; empty: none was made
  Standing standing = Standing::kNotTold;
  std::string why;  // what decided it, a sentence fragment
};

/// Something that is not the same in both.
struct ChangedFact {
  std::string area;  // "settings", "usb", "profile" ...
  std::string what;  // "devices 2-1: speed mbps"
  std::string before;
  std::string after;
};

/// Which result it is.
struct ComparedResult {
  std::string name;  // file, as it was given
  std::string production;
  std::string started_at;
  std::string length;
  std::string machine;  // CPU and how many of them
  std::string system;   // operating system and kernel
  std::string program_version;
  Verdict verdict = Verdict::kUnproven;
  bool complete = false;
  std::string headline;
};

/// Before and after.
struct Comparison {
  ComparedResult before;
  ComparedResult after;
  std::vector<ChangedFact> productions;  // how the two profiles differ; empty: they do not
  std::vector<ChangedFact> machines;     // what changed of the PC and its settings
  std::vector<ComparedFigure> figures;
  int tests = 0;  // that were made
  std::string headline;
  std::vector<std::string> cautions;
  std::vector<std::string> method;
};

/// One of many results.
struct RankedResult {
  int rank = 0;  // from 1
  ComparedResult result;
  std::string tightest;                  // resource with least above its margin; empty: none told
  std::optional<double> tightest_spare;  // its headroom, percent
  std::optional<double> tightest_keep;   // its margin, percent
  std::optional<std::int64_t> lost;      // judged frames
  std::optional<double> lost_upper;      // an hour, at most, 95 %
  std::optional<double> speed;           // full-speed run, mean of windows, times real time
  std::optional<double> speed_low;       // 95 % interval of that mean
  std::optional<double> speed_high;
  std::optional<int> more_sources;              // predicted
  int production = 0;                           // which production, from 1 in order of appearance
  Standing against_above = Standing::kNotTold;  // its speed against the rank above it
  std::string against_why;
};

/// A file that gave no result.
struct UnreadResult {
  std::string name;
  std::string why;
};

struct Ranking {
  std::vector<RankedResult> results;  // best first
  std::vector<UnreadResult> not_read;
  std::vector<std::string> productions;  // names; more than one: not the same work
  std::string headline;
  std::vector<std::string> cautions;
  std::vector<std::string> method;
};

}  // namespace report
