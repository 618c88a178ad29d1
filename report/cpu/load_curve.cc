// SPDX-License-Identifier: Apache-2.0

#include "report/cpu/load_curve.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

namespace report {
namespace {

/// The piece that this much work lies in; less than the first one's is the first one's.
const LoadPiece& PieceOf(std::span<const LoadPiece> pieces, double work) {
  std::size_t at = 0;
  while (at + 1 < pieces.size() && work >= pieces[at + 1].work) {
    ++at;
  }
  return pieces[at];
}

}  // namespace

std::vector<LoadPiece> PiecesThrough(std::span<const LoadPoint> points, double exponent_beyond) {
  std::vector<LoadPiece> pieces;
  for (const LoadPoint& point : points) {
    LoadPiece piece{point.work, point.speed, exponent_beyond, point.cpus, point.cpus / point.work};
    if (!pieces.empty()) {
      LoadPiece& before = pieces.back();
      piece.speed = std::min(piece.speed, before.speed);
      piece.cpus = std::max(piece.cpus, before.cpus);
      before.exponent = std::log(before.speed / piece.speed) / std::log(piece.work / before.work);
      before.cpus_each = (piece.cpus - before.cpus) / (piece.work - before.work);
      piece.cpus_each = before.cpus_each;
    }
    pieces.push_back(piece);
  }
  return pieces;
}

double SpeedAt(std::span<const LoadPiece> pieces, double work) {
  if (pieces.empty() || !(work > 0)) {
    return std::numeric_limits<double>::infinity();
  }
  const LoadPiece& piece = PieceOf(pieces, work);
  return piece.speed * std::pow(piece.work / work, piece.exponent);
}

double CpusAt(std::span<const LoadPiece> pieces, double work) {
  if (pieces.empty()) {
    return 0;
  }
  const LoadPiece& first = pieces.front();
  if (work < first.work) {
    return first.cpus * work / first.work;
  }
  const LoadPiece& piece = PieceOf(pieces, work);
  return piece.cpus + piece.cpus_each * (work - piece.work);
}

double WorkAtRealTime(std::span<const LoadPiece> pieces) {
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const bool last = i + 1 == pieces.size();
    const LoadPiece& piece = pieces[i];
    if (!last && pieces[i + 1].speed >= 1) {
      continue;
    }
    if (piece.exponent > 0) {
      return piece.work * std::pow(piece.speed, 1 / piece.exponent);
    }
    if (piece.speed < 1) {
      return 0;  // however little it is
    }
    return std::numeric_limits<double>::infinity();
  }
  return 0;
}

}  // namespace report
