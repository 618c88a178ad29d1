// SPDX-License-Identifier: Apache-2.0
//
// What a stored result says of changed productions, as sums that need no knowledge of the trade:
// the program writes them, the page and EvaluateWhatIf() work them out.

#pragma once

#include <string>
#include <vector>

#include "report/data/document.h"

namespace report {

/// What a node does with the nodes that it names. What is not told is not a number, and so is all
/// that is reckoned from it.
enum class NodeStep {
  kNumber,
  kInput,
  kSum,
  kProduct,
  kQuotient,  // first by second
  kPower,     // first to the second
  kLeast,
  kMost,
  kMore,    // 1 where the first is more than the second, else 0
  kSame,    // 1 where both are the same but for rounding, else 0
  kEither,  // second where the first is not 0, else third
  kSpare,   // percent of the second that the first leaves, -999 at the least
  kTable,   // an entry by whole numbers, the first of them slowest
};

struct WhatIfNode {
  NodeStep step = NodeStep::kNumber;
  std::vector<int> of;          // earlier nodes; of kInput: the input; of kTable: the indices
  std::vector<int> sizes;       // of kTable, one for each index, from 0
  std::vector<double> numbers;  // of kNumber: itself; of kTable: the entries
};

/// One thing that a reader may change.
struct WhatIfInput {
  std::string group;  // what it belongs to: "Production", "Source Left", "Output Stream"
  std::string label;  // "How many", "Raster" ...
  std::string unit;
  double least = 0;
  double most = 0;
  double step = 1;
  double now = 0;                    // as the production is
  std::vector<std::string> choices;  // not empty: its value is the number of one, from 0
};

/// Nodes of one resource; it is there where `shown` is not 0.
struct WhatIfResource {
  Resource resource = Resource::kCpu;
  std::string item;
  std::string unit;
  int shown = 0;
  int asked = 0;
  int capacity = -1;  // -1: not known, and so unproven
  int left = -1;      // percent, as are the next two: the ends of the interval
  int lowest = -1;
  int highest = -1;
  double margin_percent = 0;
  Basis basis = Basis::kComputed;
  std::string source;
  std::string how_to_prove;
};

/// Something that is not told where `when` is not 0.
struct WhatIfUnproven {
  int when = 0;
  std::string text;
};

struct WhatIfModel {
  std::vector<WhatIfInput> inputs;
  std::vector<WhatIfNode> nodes;
  std::vector<WhatIfResource> resources;
  std::vector<WhatIfUnproven> unproven;
  bool dropped = false;  // the production lost frames as it is: never better than tight
  std::string unfair;    // why nothing is sure; empty where that does not stand in the way
};

}  // namespace report
