// SPDX-License-Identifier: Apache-2.0
//
// Nodes that are there already are used again.

#include "report/what_if/nodes.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <numeric>
#include <utility>

namespace report {
namespace {

double Rounded(double value) {
  constexpr int kDigits = 8;
  if (value == 0 || !std::isfinite(value)) {
    return value;
  }
  const double scale = std::pow(10, kDigits - 1 - std::floor(std::log10(std::abs(value))));
  return std::round(value * scale) / scale;
}

bool Alike(double one, double other) {
  return one == other || (std::isnan(one) && std::isnan(other));
}

bool Alike(const WhatIfNode& one, const WhatIfNode& other) {
  return one.step == other.step && one.of == other.of && one.sizes == other.sizes &&
         std::equal(one.numbers.begin(), one.numbers.end(), other.numbers.begin(),
                    other.numbers.end(), [](double a, double b) { return Alike(a, b); });
}

/// A table without one axis, when that changes nothing.
bool DropAxis(std::size_t axis, WhatIfNode& table) {
  const auto size = static_cast<std::size_t>(table.sizes[axis]);
  std::size_t inner = 1;
  for (std::size_t after = axis + 1; after < table.sizes.size(); ++after) {
    inner *= static_cast<std::size_t>(table.sizes[after]);
  }
  std::vector<double> kept;
  for (std::size_t outer = 0; outer < table.numbers.size(); outer += inner * size) {
    for (std::size_t at = outer; at < outer + inner * size; ++at) {
      if (!Alike(table.numbers[at], table.numbers[outer + (at - outer) % inner])) {
        return false;
      }
    }
    const auto first = table.numbers.begin() + static_cast<std::ptrdiff_t>(outer);
    kept.insert(kept.end(), first, first + static_cast<std::ptrdiff_t>(inner));
  }
  table.numbers = std::move(kept);
  table.of.erase(table.of.begin() + static_cast<std::ptrdiff_t>(axis));
  table.sizes.erase(table.sizes.begin() + static_cast<std::ptrdiff_t>(axis));
  return true;
}

}  // namespace

std::size_t TableAxes::Cells() const {
  return std::accumulate(
      sizes.begin(), sizes.end(), std::size_t{1},
      [](std::size_t cells, int size) { return cells * static_cast<std::size_t>(size); });
}

void ForEachCell(const TableAxes& axes,
                 const std::function<void(const std::vector<std::size_t>&)>& visit) {
  std::vector<std::size_t> cell(axes.sizes.size());
  for (std::size_t number = 0; number < axes.Cells(); ++number) {
    std::size_t rest = number;
    for (std::size_t axis = axes.sizes.size(); axis-- > 0;) {
      cell[axis] = rest % static_cast<std::size_t>(axes.sizes[axis]);
      rest /= static_cast<std::size_t>(axes.sizes[axis]);
    }
    visit(cell);
  }
}

int NodeList::Put(WhatIfNode node) {
  const auto same = std::find_if(nodes_.begin(), nodes_.end(),
                                 [&](const WhatIfNode& other) { return Alike(node, other); });
  if (same != nodes_.end()) {
    return static_cast<int>(same - nodes_.begin());
  }
  nodes_.push_back(std::move(node));
  return static_cast<int>(nodes_.size()) - 1;
}

int NodeList::Add(NodeStep step, const std::vector<int>& of) {
  return Put({step, of, {}, {}});
}

int NodeList::Number(double value) {
  return Put({NodeStep::kNumber, {}, {}, {value}});
}

int NodeList::Input(int input) {
  return Add(NodeStep::kInput, {input});
}

bool NodeList::IsNumber(int node, double value) const {
  const WhatIfNode& one = nodes_.at(static_cast<std::size_t>(node));
  return one.step == NodeStep::kNumber && one.numbers.front() == value;
}

int NodeList::Sum(const std::vector<int>& terms) {
  std::vector<int> some;
  std::copy_if(terms.begin(), terms.end(), std::back_inserter(some),
               [this](int term) { return !IsNumber(term, 0); });
  if (some.empty()) {
    return Number(0);
  }
  return some.size() == 1 ? some.front() : Add(NodeStep::kSum, some);
}

int NodeList::Product(int one, int other) {
  if (IsNumber(one, 0) || IsNumber(other, 1)) {
    return one;
  }
  return IsNumber(other, 0) || IsNumber(one, 1) ? other : Add(NodeStep::kProduct, {one, other});
}

int NodeList::Table(const TableAxes& axes, const std::vector<double>& entries) {
  WhatIfNode table{NodeStep::kTable, axes.nodes, axes.sizes, entries};
  std::transform(entries.begin(), entries.end(), table.numbers.begin(), Rounded);
  for (std::size_t axis = table.sizes.size(); axis-- > 0;) {
    DropAxis(axis, table);
  }
  return table.sizes.empty() ? Number(table.numbers.front()) : Put(std::move(table));
}

}  // namespace report
