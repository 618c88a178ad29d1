// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/read_fields.h"

#include <optional>

#include <fmt/format.h>

#include "base/text.h"

namespace profiles {
namespace {

/// Digits only, without leading zeros, in range.
std::optional<int> ReadSide(std::string_view digits) {
  const auto value = base::ParseInt(digits);
  if (!value || digits.front() == '0' || *value < kSmallestSide || *value > kLargestSide) {
    return std::nullopt;
  }
  return static_cast<int>(*value);
}

std::optional<Raster> ParseRaster(std::string_view text) {
  const std::size_t cross = text.find('x');
  if (cross == std::string_view::npos) {
    return std::nullopt;
  }
  const auto width = ReadSide(text.substr(0, cross));
  const auto height = ReadSide(text.substr(cross + 1));
  if (!width || !height) {
    return std::nullopt;
  }
  return Raster{*width, *height};
}

std::optional<base::Rational> RateInRange(const base::Rational& rate) {
  if (rate < 1 || rate > kHighestRate || rate.denominator() > kLargestRateDenominator) {
    return std::nullopt;
  }
  return rate;
}

constexpr std::string_view kRatesAllowed =
    "a whole number or a fraction such as \"30000/1001\", from 1 to 240 pictures a second";

}  // namespace

std::string ReadName(const JsonCursor& at) {
  std::string name = at.Text(kLongestName);
  if (name.find_first_of("/\\") != std::string::npos || name.starts_with('.') ||
      base::Trim(name) != name) {
    at.RefuseFound("a name without / or \\, without a dot in front, without spaces at its ends");
  }
  return name;
}

void CheckNewName(const JsonCursor& at, const std::string& name, bool taken) {
  const JsonCursor place = at.Member("name");
  if (taken) {
    place.Refuse(fmt::format("found \"{}\" a second time; allowed: each name once", name));
  } else if (CountCharacters(name) > kLongestName) {
    place.Refuse(fmt::format("spread out it becomes a name of {} characters; allowed: 1 to {}",
                             CountCharacters(name), kLongestName));
  }
}

std::string StepProblem(const Raster& raster, const RasterStep& step) {
  if (raster.width % step.width == 0 && raster.height % step.height == 0) {
    return "";
  }
  return step.height == 1 ? "an even width, chroma is shared by two pixels"
                          : "even sides, chroma is shared by two pixels and two lines";
}

Raster ReadRaster(const JsonCursor& at, const RasterStep& step) {
  const Raster fallback{kSmallestSide, kSmallestSide};
  if (!at.IsText()) {
    at.RefuseFound("a raster such as \"1920x1080\"");
    return fallback;
  }
  const auto raster = ParseRaster(at.Text(kLongestName));
  if (!raster) {
    at.RefuseFound(fmt::format("a raster such as \"1920x1080\", sides from {} to {}", kSmallestSide,
                               kLargestSide));
    return fallback;
  }
  if (const std::string problem = StepProblem(*raster, step); !problem.empty()) {
    at.RefuseFound(problem);
    return fallback;
  }
  return *raster;
}

base::Rational ReadRate(const JsonCursor& at) {
  std::optional<base::Rational> rate;
  if (at.IsText()) {
    const auto parsed = base::ParseRational(at.Text(kLongestName));
    rate = parsed ? RateInRange(*parsed) : std::nullopt;
  } else if (const auto whole = at.WholeOrNothing()) {
    rate = *whole >= 1 && *whole <= kHighestRate ? RateInRange(*whole) : std::nullopt;
  }
  if (!rate) {
    at.RefuseFound(kRatesAllowed);
  }
  return rate.value_or(base::Rational(1));
}

int ReadBitrateKbps(const JsonCursor& at) {
  return at.Whole(kLowestBitrateKbps, kHighestBitrateKbps);
}

}  // namespace profiles
