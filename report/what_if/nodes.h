// SPDX-License-Identifier: Apache-2.0
//
// Puts the sums of a what-if model together, node by node.

#pragma once

#include <functional>
#include <vector>

#include "report/data/what_if_model.h"

namespace report {

/// The choices that a table goes by: for each its node and how many there are.
struct TableAxes {
  std::vector<int> nodes;
  std::vector<int> sizes;

  void Add(int node, std::size_t size) {
    nodes.push_back(node);
    sizes.push_back(static_cast<int>(size));
  }
  std::size_t Cells() const;
};

/// Calls `visit` with the choice on each axis for every cell, the first axis slowest.
void ForEachCell(const TableAxes& axes,
                 const std::function<void(const std::vector<std::size_t>&)>& visit);

class NodeList {
 public:
  int Number(double value);
  int Input(int input);
  int Sum(const std::vector<int>& terms);  // of nothing: 0
  int Product(int one, int other);
  int Quotient(int one, int other) { return Add(NodeStep::kQuotient, {one, other}); }
  int Power(int one, int other) { return Add(NodeStep::kPower, {one, other}); }
  int Least(const std::vector<int>& of) { return Add(NodeStep::kLeast, of); }
  int Most(const std::vector<int>& of) { return Add(NodeStep::kMost, of); }
  int More(int one, int other) { return Add(NodeStep::kMore, {one, other}); }
  int Same(int one, int other) { return Add(NodeStep::kSame, {one, other}); }
  int Either(int choice, int one, int other) {
    return Add(NodeStep::kEither, {choice, one, other});
  }
  int Spare(int asked, int capacity) { return Add(NodeStep::kSpare, {asked, capacity}); }
  int Less(int from, int what) { return Sum({from, Product(Number(-1), what)}); }
  int Not(int what) { return Less(Number(1), what); }
  /// Axes along which nothing changes are left out; entries are rounded to eight digits.
  int Table(const TableAxes& axes, const std::vector<double>& entries);

  std::vector<WhatIfNode> Take() { return std::move(nodes_); }
  bool IsNumber(int node, double value) const;

 private:
  int Add(NodeStep step, const std::vector<int>& of);
  int Put(WhatIfNode node);

  std::vector<WhatIfNode> nodes_;
};

}  // namespace report
