// SPDX-License-Identifier: Apache-2.0
//
// Figures of two results side by side, and whether they really differ.

#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "report/data/comparison.h"

namespace report {

/// Runs of one PC under one load differ by this share anyway (assumed): a smaller difference is
/// none, however sure it is.
inline constexpr double kRunToRun = 0.05;
/// The same for a single figure that no windows stand behind (assumed).
inline constexpr double kOneFigure = 0.15;

/// Unit of a figure whose change is a ratio.
inline constexpr char kEventsPerHour[] = "an hour";

/// Whether less or more of it is what people want.
enum class Better { kHigher, kLower };
ComparedFigure NewFigure(std::string group, std::string what, std::string item, std::string unit,
                         Better better);

/// `change` from both sides, where there are both.
void SetChange(ComparedFigure& figure);
/// kBetter or kWorse by the sign of the change.
Standing ByDirection(const ComparedFigure& figure);

/// One figure each, and nothing to test: the same within kOneFigure, else unsure.
void DecideOneFigure(ComparedFigure& figure);

/// Means of windows and the interval of their difference by Welch's t test; DecideTested() gives
/// the standing when all tests are made.
void TestWindows(ComparedFigure& figure, const std::vector<double>& before,
                 const std::vector<double>& after);

/// Corrects the chances of all tests by Holm's method and gives each tested figure its standing.
/// Returns how many tests there were.
int DecideTested(std::vector<ComparedFigure>& figures);

// What is compared; each function appends its figures.
void CompareRuns(const Document& before, const Document& after,
                 std::vector<ComparedFigure>& figures);
void CompareCosts(const Document& before, const Document& after,
                  std::vector<ComparedFigure>& figures);
void CompareRoom(const Document& before, const Document& after,
                 std::vector<ComparedFigure>& figures);
/// Last: a measured row stands as the figure does that it is made of.
void CompareHeadroom(const Document& before, const Document& after,
                     std::vector<ComparedFigure>& figures);

/// Entries of both lists by key, each used once; a null pointer where one side has none.
template <typename Entry, typename Key>
std::vector<std::pair<const Entry*, const Entry*>> Pairs(const std::vector<Entry>& before,
                                                         const std::vector<Entry>& after, Key key) {
  std::vector<std::pair<const Entry*, const Entry*>> pairs;
  std::multimap<std::string, const Entry*> left;
  for (const Entry& entry : after) {
    left.emplace(key(entry), &entry);
  }
  for (const Entry& entry : before) {
    const auto same = left.find(key(entry));
    pairs.emplace_back(&entry, same == left.end() ? nullptr : same->second);
    if (same != left.end()) {
      left.erase(same);
    }
  }
  for (const auto& [name, entry] : left) {
    pairs.emplace_back(nullptr, entry);
  }
  return pairs;
}

}  // namespace report
