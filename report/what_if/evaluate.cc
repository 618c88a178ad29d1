// SPDX-License-Identifier: Apache-2.0
//
// Works the model out. page/whatif_sums.js does the same: what changes here changes there.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <span>

#include "report/headroom/headroom.h"
#include "report/predict/size_resources.h"
#include "report/what_if/what_if.h"

namespace report {
namespace {

constexpr double kNotTold = std::numeric_limits<double>::quiet_NaN();
constexpr double kRounding = 1e-6;  // entries of tables have eight digits

bool Same(double one, double other) {
  return std::abs(one - other) <= kRounding * std::max({1.0, std::abs(one), std::abs(other)});
}

double Spare(double asked, double capacity) {
  if (std::isnan(asked) || std::isnan(capacity)) {
    return kNotTold;
  }
  return HeadroomPercent(asked, capacity);
}

class Working {
 public:
  Working(const WhatIfModel& model, const std::vector<double>& inputs) : inputs_(inputs) {
    values_.reserve(model.nodes.size());
    for (const WhatIfNode& node : model.nodes) {
      values_.push_back(Of(node));
    }
  }

  double At(int node) const {
    return node < 0 ? kNotTold : values_.at(static_cast<std::size_t>(node));
  }

 private:
  double Of(const WhatIfNode& node) const {
    switch (node.step) {
      case NodeStep::kNumber:
        return node.numbers.at(0);
      case NodeStep::kInput:
        return inputs_.at(static_cast<std::size_t>(node.of.at(0)));
      case NodeStep::kTable:
        return Entry(node);
      case NodeStep::kEither:
        return At(node.of.at(0)) != 0 ? At(node.of.at(1)) : At(node.of.at(2));
      case NodeStep::kSum:
      case NodeStep::kProduct:
      case NodeStep::kLeast:
      case NodeStep::kMost:
        return OfMany(node);
      default:
        return OfTwo(node.step, At(node.of.at(0)), At(node.of.at(1)));
    }
  }

  double OfMany(const WhatIfNode& node) const {
    double value = At(node.of.at(0));
    for (const int other : std::span(node.of).subspan(1)) {
      const double next = At(other);
      if (node.step == NodeStep::kSum) {
        value += next;
      } else if (node.step == NodeStep::kProduct) {
        value *= next;
      } else if (std::isnan(value) || std::isnan(next)) {
        value = kNotTold;
      } else {
        value = node.step == NodeStep::kLeast ? std::min(value, next) : std::max(value, next);
      }
    }
    return value;
  }

  static double OfTwo(NodeStep step, double one, double other) {
    switch (step) {
      case NodeStep::kQuotient:
        return one / other;
      case NodeStep::kPower:
        return std::pow(one, other);
      case NodeStep::kMore:
        return one > other ? 1 : 0;
      case NodeStep::kSame:
        return Same(one, other) ? 1 : 0;
      default:
        return Spare(one, other);
    }
  }

  double Entry(const WhatIfNode& node) const {
    std::size_t place = 0;
    for (std::size_t axis = 0; axis < node.sizes.size(); ++axis) {
      const double index = std::round(At(node.of.at(axis)));
      if (!(index >= 0) || index >= node.sizes[axis]) {
        return kNotTold;
      }
      place = place * static_cast<std::size_t>(node.sizes[axis]) + static_cast<std::size_t>(index);
    }
    return node.numbers.at(place);
  }

  const std::vector<double>& inputs_;
  std::vector<double> values_;
};

std::optional<double> Told(double value) {
  return std::isnan(value) ? std::nullopt : std::optional(value);
}

SizedResource RowOf(const WhatIfResource& resource, const Working& working) {
  SizedResource row;
  row.resource = resource.resource;
  row.item = resource.item;
  row.unit = resource.unit;
  row.asked = working.At(resource.asked);
  row.capacity = Told(working.At(resource.capacity));
  row.headroom_percent = Told(working.At(resource.left));
  row.lowest_percent = Told(working.At(resource.lowest));
  row.highest_percent = Told(working.At(resource.highest));
  row.margin_percent = resource.margin_percent;
  row.basis = resource.basis;
  row.source = resource.source;
  row.how_to_prove = resource.how_to_prove;
  row.sureness = SurenessOf(row);
  return row;
}

bool Holds(double value) {
  return !std::isnan(value) && value != 0;
}

}  // namespace

std::vector<double> InputsNow(const WhatIfModel& model) {
  std::vector<double> values;
  values.reserve(model.inputs.size());
  for (const WhatIfInput& input : model.inputs) {
    values.push_back(input.now);
  }
  return values;
}

SizedProduction EvaluateWhatIf(const WhatIfModel& model, const std::vector<double>& inputs) {
  const Working working(model, inputs);
  SizedProduction sized;
  for (const WhatIfResource& resource : model.resources) {
    if (Holds(working.At(resource.shown))) {
      sized.resources.push_back(RowOf(resource, working));
    }
  }
  for (const WhatIfUnproven& unproven : model.unproven) {
    if (Holds(working.At(unproven.when))) {
      sized.unproven.push_back({std::nullopt, "", unproven.text});
    }
  }
  CpuBasis cpu;
  cpu.dropped = model.dropped;
  cpu.unfair = model.unfair;
  JudgeSized(cpu, sized);
  return sized;
}

}  // namespace report
