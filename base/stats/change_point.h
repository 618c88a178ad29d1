// SPDX-License-Identifier: Apache-2.0
//
// Where the level of a series steps up or down, and whether chance explains it.

#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace base {

/// A change of level.
struct Step {
  std::size_t at = 0;  // index of the first sample on the new level
  double before = 0;   // mean of the level left
  double after = 0;    // mean of the new level
  double p_value = 1;  // chance of so strong a step in a series without one
};

struct StepRule {
  double false_alarm_rate = 0.01;  // chance of a step told where there is none
  std::size_t shortest_level = 3;  // samples that a level has at least
  int permutations = 999;
};

/// The strongest step: the split with the smallest sum of squares about the two
/// means (Hawkins 1977, J. Am. Stat. Assoc. 72), judged by how often shuffling
/// the same samples gives as strong a one (permutation test, Antoch and Huskova
/// 2001). Needs no model of the noise, but samples that do not depend on one
/// another. Deterministic. Non-finite samples: no step.
std::optional<Step> FindStep(std::span<const double> samples, const StepRule& rule = {});

/// All steps in order: splits again on both sides of a step (binary
/// segmentation, Scott and Knott 1974), each side judged by the same rule.
std::vector<Step> FindSteps(std::span<const double> samples, const StepRule& rule = {});

}  // namespace base
