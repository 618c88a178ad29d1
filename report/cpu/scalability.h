// SPDX-License-Identifier: Apache-2.0
//
// How throughput grows with workers: the Universal Scalability Law, fitted to measured points.

#pragma once

#include <optional>
#include <span>
#include <string>

#include "bench/data/results.h"

namespace report {

/// Gunther's Universal Scalability Law (N. J. Gunther, "Guerrilla Capacity
/// Planning", Springer 2007, chapter 4): N workers make
/// X(N) = gamma N / (1 + alpha (N - 1) + beta N (N - 1)).
struct Scalability {
  double alpha = 0;  // contention: waiting for each other
  double beta = 0;   // coherency: keeping each other's data the same
  double gamma = 1;  // what one worker makes
  // Standard errors; nothing where the points are too few to tell.
  std::optional<double> alpha_error;
  std::optional<double> beta_error;
  std::optional<double> gamma_error;
  int points = 0;
  bool beta_told = false;  // two points cannot tell beta from alpha
};

/// Least squares in X. Four points and more: all three coefficients, with
/// errors. Three: solved. Two: beta is taken as 0. Coefficients below 0 (noise)
/// are held at 0. Nothing for fewer than two numbers of workers, or a rate of 0.
std::optional<Scalability> FitScalability(std::span<const bench::ContentionPoint> measured);

/// X(N) / gamma; below one worker nobody waits, and it is N.
double ScaledBy(const Scalability& law, double workers);

/// The law with its coefficients moved to one end of what the points allow:
/// two standard errors up or down; without errors, from none to twice as much
/// and 2 % (assumed).
Scalability Pessimistic(Scalability law);
Scalability Optimistic(Scalability law);

/// "alpha 0.0277 +- 0.0091, beta 0.000104 +- 0.00002, from 7 points" in words.
std::string ToText(const Scalability& law);

}  // namespace report
