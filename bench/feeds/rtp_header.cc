// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/rtp_header.h"

#include <algorithm>

extern "C" {
#include <libavutil/mathematics.h>
}

namespace bench {
namespace {

constexpr std::size_t kFixedBytes = 12;

std::size_t Word(std::span<const std::uint8_t> bytes, std::size_t at) {
  return static_cast<std::size_t>(bytes[at]) << 8 | bytes[at + 1];
}

std::uint32_t Long(std::span<const std::uint8_t> bytes, std::size_t at) {
  return static_cast<std::uint32_t>(Word(bytes, at) << 16 | Word(bytes, at + 2));
}

/// Bytes of head and padding, or nothing when the datagram is shorter.
std::optional<std::size_t> BytesAround(std::span<const std::uint8_t> datagram) {
  std::size_t around = kFixedBytes + std::size_t{4} * (datagram[0] & 0x0fU);
  if ((datagram[0] & 0x10U) != 0) {  // extension: its length in words stands in its second half
    if (around + 4 > datagram.size()) {
      return std::nullopt;
    }
    around += 4 + 4 * Word(datagram, around + 2);
  }
  if ((datagram[0] & 0x20U) != 0) {  // padding: its length is the last byte
    const std::size_t padding = datagram.back();
    if (padding == 0) {
      return std::nullopt;
    }
    around += padding;
  }
  return around <= datagram.size() ? std::optional(around) : std::nullopt;
}

}  // namespace

std::optional<RtpHeader> ParseRtpHeader(std::span<const std::uint8_t> datagram) {
  if (datagram.size() < kFixedBytes || datagram[0] >> 6 != 2 || !BytesAround(datagram)) {
    return std::nullopt;
  }
  RtpHeader header;
  header.payload_type = datagram[1] & 0x7fU;
  header.marker = (datagram[1] & 0x80U) != 0;
  if (header.payload_type >= 64 && header.payload_type < 96) {
    return std::nullopt;
  }
  header.sequence = static_cast<std::uint16_t>(Word(datagram, 2));
  header.timestamp = Long(datagram, 4);
  header.source = Long(datagram, 8);
  return header;
}

void SequenceGaps::Note(std::uint16_t sequence) {
  ++received_;
  if (first_ < 0) {
    first_ = sequence;
    highest_ = sequence;
    return;
  }
  // The nearest number to the highest that ends in these 16 bits.
  const auto step = static_cast<std::int16_t>(sequence - static_cast<std::uint16_t>(highest_));
  highest_ = std::max(highest_, highest_ + step);
}

std::int64_t SequenceGaps::lost() const {
  return first_ < 0 ? 0 : std::max<std::int64_t>(0, highest_ - first_ + 1 - received_);
}

std::int64_t PictureTicks(std::int64_t index, const base::Rational& rate) {
  return av_rescale_rnd(index, rate.denominator() * kVideoClockHz, rate.numerator(),
                        AV_ROUND_NEAR_INF);
}

std::int64_t PictureAtTicks(std::int64_t ticks, const base::Rational& rate) {
  return av_rescale_rnd(ticks, rate.numerator(), rate.denominator() * kVideoClockHz,
                        AV_ROUND_NEAR_INF);
}

std::int64_t PictureClock::IndexOf(std::uint32_t timestamp) {
  constexpr std::int64_t kMostStep = 3600LL * kVideoClockHz;
  const std::int64_t step = static_cast<std::int32_t>(timestamp - last_);
  if (step > kMostStep || step < -kMostStep) {
    return PictureAtTicks(ticks_ + step, rate_);
  }
  ticks_ += step;
  last_ = timestamp;
  return PictureAtTicks(ticks_, rate_);
}

}  // namespace bench
