// SPDX-License-Identifier: Apache-2.0
//
// The account of a device's pictures from their numbers and times: rate, jitter, gaps. Pure sums.

#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "probes/data/line_check.h"

namespace probes {

/// One picture as a driver handed it over.
struct PictureStamp {
  std::uint32_t number = 0;  // the driver's own count; wraps after 2^32
  std::int64_t timestamp_ns = 0;
  std::int64_t arrived_ns = 0;  // on our clock
  std::int64_t bytes = 0;
  bool flagged = false;  // the driver says that its data are damaged
};

/// What the pictures are held against.
struct PictureRule {
  double asked_per_second = 0;   // 0: not known
  std::int64_t least_bytes = 1;  // of a whole picture
  int buffers = 4;               // that the driver may fill before we give one back
  double start_seconds = 2;      // after the first picture: losses count apart, times not at all
};

/// Pictures lost between two numbers that follow each other; nothing when
/// the second repeats or goes back. Numbers wrap.
std::optional<std::int64_t> LostBetween(std::uint32_t before, std::uint32_t after);

/// The whole account, in the order of arrival.
///
/// Losses are steps of the driver's numbers above one, as far as the time
/// between the two pictures makes them possible. Rates run from the first to the last
/// picture after the start; their 95 % intervals come from the means of batches of
/// about a second (Student's t), which also holds where neighbours are not
/// independent. Where timestamps jump, rates use the times of arrival and jitter
/// is unknown.
LinePictures SumPictures(std::span<const PictureStamp> pictures, const PictureRule& rule);

}  // namespace probes
