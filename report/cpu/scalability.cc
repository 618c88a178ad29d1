// SPDX-License-Identifier: Apache-2.0
//
// Gauss-Newton from the linearised law.

#include "report/cpu/scalability.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <set>
#include <utility>
#include <vector>

#include <fmt/format.h>

namespace report {
namespace {

/// Up to three coefficients; unused rows and columns are those of the identity.
constexpr std::size_t kSize = 3;
using Vector = std::array<double, kSize>;
using Matrix = std::array<Vector, kSize>;
using Points = std::vector<bench::ContentionPoint>;

/// Where nothing tells the error, twice the coefficient and this much more.
constexpr double kUntoldAlpha = 0.02;

/// Which coefficients beside gamma are free; the others are held at 0.
struct Free {
  bool alpha = false;
  bool beta = false;

  std::size_t Count() const { return 1 + (alpha ? 1U : 0U) + (beta ? 1U : 0U); }
};

struct Fitted {
  Scalability law;
  double squares = 0;  // sum of squared residuals
};

constexpr Matrix kIdentity{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};

/// Gauss-Jordan with the largest pivot of each column; nothing when singular.
std::optional<Matrix> Inverse(Matrix matrix) {
  Matrix inverse = kIdentity;
  for (std::size_t column = 0; column < kSize; ++column) {
    std::size_t pivot = column;
    for (std::size_t row = column; row < kSize; ++row) {
      pivot = std::abs(matrix[row][column]) > std::abs(matrix[pivot][column]) ? row : pivot;
    }
    std::swap(matrix[column], matrix[pivot]);
    std::swap(inverse[column], inverse[pivot]);
    const double scale = matrix[column][column];
    if (scale == 0 || !std::isfinite(scale)) {
      return std::nullopt;
    }
    for (std::size_t i = 0; i < kSize; ++i) {
      matrix[column][i] /= scale;
      inverse[column][i] /= scale;
    }
    for (std::size_t row = 0; row < kSize; ++row) {
      const double factor = row == column ? 0 : matrix[row][column];
      for (std::size_t i = 0; i < kSize; ++i) {
        matrix[row][i] -= factor * matrix[column][i];
        inverse[row][i] -= factor * inverse[column][i];
      }
    }
  }
  return inverse;
}

Vector Product(const Matrix& matrix, const Vector& vector) {
  Vector product{};
  for (std::size_t row = 0; row < kSize; ++row) {
    for (std::size_t i = 0; i < kSize; ++i) {
      product[row] += matrix[row][i] * vector[i];
    }
  }
  return product;
}

/// The normal equations of a least squares sum, row by row.
struct Normal {
  Matrix matrix{};
  Vector right{};

  void Add(const Vector& row, double value, double weight) {
    for (std::size_t i = 0; i < kSize; ++i) {
      right[i] += weight * value * row[i];
      for (std::size_t j = 0; j < kSize; ++j) {
        matrix[i][j] += weight * row[i] * row[j];
      }
    }
  }
  /// Coefficients that no row touches stay at 0.
  std::optional<Matrix> Inverted() const {
    Matrix whole = matrix;
    for (std::size_t i = 0; i < kSize; ++i) {
      whole[i][i] = whole[i][i] == 0 ? 1 : whole[i][i];
    }
    return Inverse(whole);
  }
};

double Predicted(const Scalability& law, double n) {
  return law.gamma * n / (1 + law.alpha * (n - 1) + law.beta * n * (n - 1));
}

double Squares(const Scalability& law, const Points& points) {
  double sum = 0;
  for (const bench::ContentionPoint& point : points) {
    sum += std::pow(point.per_second - Predicted(law, point.workers), 2);
  }
  return sum;
}

/// One row: gamma, alpha, beta, as far as they are free.
Vector Row(const Free& free, double gamma, double alpha, double beta) {
  return {gamma, free.alpha ? alpha : 0, free.beta ? beta : 0};
}

/// N / X = (1 + alpha (N - 1) + beta N (N - 1)) / gamma is linear in its three
/// terms (chapter 5.5 of the book); weighted so that X counts, not its inverse.
std::optional<Scalability> Linearised(const Points& points, const Free& free) {
  Normal normal;
  for (const bench::ContentionPoint& point : points) {
    const double n = point.workers;
    normal.Add(Row(free, 1, n - 1, n * (n - 1)), n / point.per_second,
               std::pow(point.per_second * point.per_second / n, 2));
  }
  const auto inverse = normal.Inverted();
  if (!inverse) {
    return std::nullopt;
  }
  const Vector terms = Product(*inverse, normal.right);
  if (!(terms[0] > 0)) {
    return std::nullopt;
  }
  Scalability law;
  law.gamma = 1 / terms[0];
  law.alpha = terms[1] * law.gamma;
  law.beta = terms[2] * law.gamma;
  return law;
}

Normal NormalEquations(const Scalability& law, const Free& free, const Points& points) {
  Normal normal;
  for (const bench::ContentionPoint& point : points) {
    const double n = point.workers;
    const double below = 1 + law.alpha * (n - 1) + law.beta * n * (n - 1);
    const double made = law.gamma * n / below;
    normal.Add(Row(free, n / below, -made * (n - 1) / below, -made * n * (n - 1) / below),
               point.per_second - made, 1);
  }
  return normal;
}

void SetErrors(Fitted& fitted, const Free& free, const Points& points) {
  if (points.size() <= free.Count()) {
    return;  // as many coefficients as points: the residuals tell nothing
  }
  const auto inverse = NormalEquations(fitted.law, free, points).Inverted();
  if (!inverse) {
    return;
  }
  const double variance = fitted.squares / static_cast<double>(points.size() - free.Count());
  const auto error = [&](std::size_t at) {
    return std::sqrt(std::max(0.0, variance * (*inverse)[at][at]));
  };
  fitted.law.gamma_error = error(0);
  if (free.alpha) {
    fitted.law.alpha_error = error(1);
  }
  if (free.beta) {
    fitted.law.beta_error = error(2);
  }
}

std::optional<Fitted> FitFree(const Points& points, const Free& free) {
  const auto start = Linearised(points, free);
  if (!start) {
    return std::nullopt;
  }
  constexpr int kMostSteps = 60;
  constexpr double kStill = 1e-14;
  Fitted fitted{*start, Squares(*start, points)};
  for (int i = 0; i < kMostSteps; ++i) {
    const Normal normal = NormalEquations(fitted.law, free, points);
    const auto inverse = normal.Inverted();
    if (!inverse) {
      break;
    }
    const Vector step = Product(*inverse, normal.right);
    Scalability moved = fitted.law;
    moved.gamma += step[0];
    moved.alpha += step[1];
    moved.beta += step[2];
    const double squares = Squares(moved, points);
    if (!(squares < fitted.squares * (1 - kStill))) {
      break;
    }
    fitted = {moved, squares};
  }
  SetErrors(fitted, free, points);
  return fitted;
}

bool Possible(const Scalability& law) {
  return law.alpha >= 0 && law.beta >= 0 && law.gamma > 0 && std::isfinite(law.alpha) &&
         std::isfinite(law.beta) && std::isfinite(law.gamma);
}

}  // namespace

std::optional<Scalability> FitScalability(std::span<const bench::ContentionPoint> measured) {
  Points points;
  std::set<int> workers;
  for (const bench::ContentionPoint& point : measured) {
    if (point.workers < 1 || !(point.per_second > 0) || !std::isfinite(point.per_second)) {
      return std::nullopt;
    }
    points.push_back(point);
    workers.insert(point.workers);
  }
  if (workers.size() < 2) {
    return std::nullopt;
  }
  const bool beta_told = workers.size() > 2;
  std::optional<Fitted> best;
  for (const Free free :
       {Free{true, beta_told}, Free{true, false}, Free{false, beta_told}, Free{}}) {
    const auto fitted = FitFree(points, free);
    if (fitted && Possible(fitted->law) && (!best || fitted->squares < best->squares)) {
      best = fitted;
    }
  }
  if (!best) {
    return std::nullopt;
  }
  best->law.points = static_cast<int>(points.size());
  best->law.beta_told = beta_told;
  return best->law;
}

double ScaledBy(const Scalability& law, double workers) {
  if (workers <= 1) {
    return std::max(0.0, workers);
  }
  return workers / (1 + law.alpha * (workers - 1) + law.beta * workers * (workers - 1));
}

Scalability Pessimistic(Scalability law) {
  law.alpha += law.alpha_error ? 2 * *law.alpha_error : law.alpha + kUntoldAlpha;
  law.beta += law.beta_error ? 2 * *law.beta_error : law.beta;
  return law;
}

Scalability Optimistic(Scalability law) {
  law.alpha = law.alpha_error ? std::max(0.0, law.alpha - 2 * *law.alpha_error) : 0;
  law.beta = law.beta_error ? std::max(0.0, law.beta - 2 * *law.beta_error) : 0;
  return law;
}

std::string ToText(const Scalability& law) {
  const auto with_error = [](double value, const std::optional<double>& error) {
    return error ? fmt::format("{:.3g} +- {:.2g}", value, *error) : fmt::format("{:.3g}", value);
  };
  std::string text = "alpha " + with_error(law.alpha, law.alpha_error);
  text += law.beta_told ? ", beta " + with_error(law.beta, law.beta_error)
                        : std::string(", beta cannot be told from two points and is taken as 0");
  return text + fmt::format(", from {} points", law.points);
}

}  // namespace report
