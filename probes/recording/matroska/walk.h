// SPDX-License-Identifier: Apache-2.0
//
// The blocks of a Matroska or WebM file in its order (RFC 9559): their heads alone, in memory that
// does not grow with its length.

#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <stop_token>

#include "probes/recording/bytes/forward_bytes.h"
#include "probes/recording/matroska/head.h"

namespace probes {

struct MatroskaBlock {
  std::size_t track = 0;                 // in the head
  std::optional<std::int64_t> at;        // ticks, CodecDelay taken off; of its first frame
  std::optional<std::int64_t> duration;  // ticks, of all of its frames, where it tells one
  std::int64_t bytes = 0;                // of all of its frames
  std::int64_t frames = 1;
  std::array<std::uint8_t, 2> first{};  // of the content where there is one frame, else zero
  std::int64_t ends_at = 0;             // in the file
};

struct MatroskaEnd {
  bool cut = false;                  // what is recorded ends inside a cluster
  std::int64_t damaged_at = -1;      // first place that holds no element that belongs there
  std::int64_t damaged_places = 0;   // after each, reading went on at a cluster, if one begins
  std::int64_t lost_bytes = 0;       // that were passed over to find one
  bool lost_to_end = false;          // behind the last of these places none begins
  std::int64_t strange_blocks = 0;   // of tracks that the head does not tell of
  std::int64_t other_document = -1;  // where another one with other tracks begins: not read
  bool failed = false;               // a place could not be read
  bool stopped = false;
};

/// Length of all of its frames, in ticks: what it tells, else by DefaultDuration of its track. As
/// many times as it has frames, it fits an int64.
std::int64_t TicksOf(const MatroskaBlock& block, const MatroskaHead& head);

/// `reached` is told every few MiB how far in the file the reading is.
MatroskaEnd WalkMatroska(ForwardBytes& bytes, const MatroskaHead& head, const std::stop_token& stop,
                         const std::function<void(const MatroskaBlock& block)>& take,
                         const std::function<void(std::int64_t at)>& reached);

}  // namespace probes
