// SPDX-License-Identifier: Apache-2.0
//
// The head of an RTP packet, what its sequence numbers say about loss, and the picture that its
// timestamp stands for.

#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "base/rational.h"

namespace bench {

/// Ticks a second of the RTP clock for video (RFC 6184 section 8.2.1, RFC 7798 section 7.1).
inline constexpr int kVideoClockHz = 90'000;

/// RFC 3550 section 5.1.
struct RtpHeader {
  std::uint8_t payload_type = 0;
  bool marker = false;  // video: the last packet of a picture
  std::uint16_t sequence = 0;
  std::uint32_t timestamp = 0;
  std::uint32_t source = 0;  // SSRC
};

/// Nothing for another version, for RTCP on the same port (RFC 5761 section 4), and for what is
/// too short for its own fixed part, contributing sources, extension and padding.
std::optional<RtpHeader> ParseRtpHeader(std::span<const std::uint8_t> datagram);

/// Packets lost on the way, as RFC 3550 appendix A.3 counts them: expected less received.
class SequenceGaps {
 public:
  void Note(std::uint16_t sequence);
  std::int64_t received() const { return received_; }
  /// Never below zero: packets that came twice do not make up for others.
  std::int64_t lost() const;

 private:
  std::int64_t first_ = -1;
  std::int64_t highest_ = -1;  // with the cycles of 65536
  std::int64_t received_ = 0;
};

/// Ticks of picture `index` after picture 0, rounded to the nearest.
std::int64_t PictureTicks(std::int64_t index, const base::Rational& rate);
/// The picture whose ticks are nearest.
std::int64_t PictureAtTicks(std::int64_t ticks, const base::Rational& rate);

/// Tells pictures by their timestamps, through the wraps of the 32-bit clock.
class PictureClock {
 public:
  /// `first_timestamp` is that of picture 0.
  PictureClock(std::uint32_t first_timestamp, const base::Rational& rate)
      : last_(first_timestamp), rate_(rate) {}

  /// May be any number for a timestamp that is none of the session's; one that
  /// is hours away does not move the clock.
  std::int64_t IndexOf(std::uint32_t timestamp);

 private:
  std::uint32_t last_;
  std::int64_t ticks_ = 0;  // of `last_`, from picture 0
  base::Rational rate_;
};

}  // namespace bench
