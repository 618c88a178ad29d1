// SPDX-License-Identifier: Apache-2.0
//
// Reads the values that several parts of a profile share: names, rasters, rates, bit rates,
// choices.

#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "base/rational.h"
#include "profiles/profile.h"
#include "profiles/text/json_cursor.h"
#include "profiles/words.h"

namespace profiles {

// Limits of the format; the JSON Schema holds the same.
inline constexpr int kSmallestSide = 64;
inline constexpr int kLargestSide = 8192;
inline constexpr int kHighestRate = 240;
inline constexpr int kLargestRateDenominator = 1'000'000;
inline constexpr int kLowestBitrateKbps = 50;
inline constexpr int kHighestBitrateKbps =
    800'000;  // H.264 and HEVC stop there, Table A-1 level 6.2
inline constexpr std::size_t kLongestName = 100;
inline constexpr std::size_t kLongestPath = 4000;
inline constexpr std::size_t kLongestNote = 2000;

/// Multiples that a raster's sides must be of; 2 x 2 for 4:2:0 pictures.
struct RasterStep {
  int width = 2;
  int height = 2;
};

/// A name: it becomes part of file names, so no slashes, no dot in front and
/// no space at either end.
std::string ReadName(const JsonCursor& at);

/// "1920x1080".
Raster ReadRaster(const JsonCursor& at, const RasterStep& step);
/// Why a raster is not a multiple of `step`; empty when it is.
std::string StepProblem(const Raster& raster, const RasterStep& step);

/// 30, "30" or "30000/1001": from 1 to 240 pictures a second.
base::Rational ReadRate(const JsonCursor& at);

int ReadBitrateKbps(const JsonCursor& at);

/// Reports a name that another has already, or that grew too long by spreading out.
void CheckNewName(const JsonCursor& at, const std::string& name, bool taken);

/// Adds `one` to `all` once its name has been checked.
template <typename Named>
void AddNamed(const JsonCursor& at, const Named& one, std::vector<Named>& all) {
  const bool taken = std::any_of(all.begin(), all.end(),
                                 [&](const Named& other) { return other.name == one.name; });
  CheckNewName(at, one.name, taken);
  all.push_back(one);
}

template <typename Choice>
Choice ReadChoice(const JsonCursor& at) {
  return FromWord<Choice>(at.OneOf(Words<Choice>())).value_or(Choice{});
}

}  // namespace profiles
