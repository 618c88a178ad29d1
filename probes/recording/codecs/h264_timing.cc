// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/codecs/h264_timing.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <vector>

#include "probes/recording/codecs/bit_reader.h"

namespace probes {
namespace {

constexpr std::uint8_t kSequenceParameters = 7;
constexpr double kMostFramesPerSecond = 300;

/// With the numbers of 9.1.
class Bits : public BitReader {
 public:
  using BitReader::BitReader;

  /// ue(v).
  std::uint32_t Unsigned() {
    int zeros = 0;
    while (zeros < 32 && !over() && !Flag()) {
      ++zeros;
    }
    return zeros >= 32 ? 0 : (1U << static_cast<unsigned>(zeros)) - 1 + Next(zeros);
  }
  void SkipUnsigned(int count) {
    for (int i = 0; i < count; ++i) {
      Unsigned();
    }
  }
  /// se(v).
  std::int64_t Signed() {
    const std::int64_t code = Unsigned();
    return code % 2 == 1 ? code / 2 + 1 : -(code / 2);
  }
};

/// Without the bytes that keep start codes out (7.4.1).
std::vector<std::uint8_t> Payload(std::span<const std::uint8_t> unit) {
  std::vector<std::uint8_t> payload;
  int zeros = 0;
  for (const std::uint8_t byte : unit) {
    if (zeros >= 2 && byte == 3) {
      zeros = 0;
      continue;
    }
    zeros = byte == 0 ? zeros + 1 : 0;
    payload.push_back(byte);
  }
  return payload;
}

void SkipScalingLists(Bits& bits, int lists) {
  for (int list = 0; list < lists && !bits.over(); ++list) {
    if (!bits.Flag()) {
      continue;
    }
    std::int64_t last = 8;
    std::int64_t next = 8;
    for (int i = 0; i < (list < 6 ? 16 : 64) && next != 0; ++i) {
      next = (last + bits.Signed() + 256) % 256;
      last = next == 0 ? last : next;
    }
  }
}

bool HasChroma(std::uint32_t profile) {
  constexpr std::array<std::uint32_t, 13> kProfiles = {100, 110, 122, 244, 44,  83, 86,
                                                       118, 128, 138, 139, 134, 135};
  return std::find(kProfiles.begin(), kProfiles.end(), profile) != kProfiles.end();
}

/// Up to where the VUI begins; false without one.
bool SkipToVui(Bits& bits) {
  const std::uint32_t profile = bits.Next(8);
  bits.Next(16);  // constraints, level
  bits.Unsigned();
  if (HasChroma(profile)) {
    const std::uint32_t chroma = bits.Unsigned();
    bits.Next(chroma == 3 ? 1 : 0);
    bits.SkipUnsigned(2);
    bits.Next(1);
    if (bits.Flag()) {
      SkipScalingLists(bits, chroma == 3 ? 12 : 8);
    }
  }
  bits.Unsigned();
  const std::uint32_t order = bits.Unsigned();
  if (order == 0) {
    bits.Unsigned();
  } else if (order == 1) {
    bits.Next(1);
    bits.SkipUnsigned(2);  // signed ones are as long
    const std::uint32_t frames = bits.Unsigned();
    bits.SkipUnsigned(static_cast<int>(std::min<std::uint32_t>(frames, 255)));
  }
  bits.Unsigned();
  bits.Next(1);
  bits.SkipUnsigned(2);
  if (!bits.Flag()) {
    bits.Next(1);
  }
  bits.Next(1);
  if (bits.Flag()) {
    bits.SkipUnsigned(4);
  }
  return bits.Flag();
}

void SkipToTiming(Bits& bits) {
  constexpr std::uint32_t kOwnAspect = 255;
  if (bits.Flag() && bits.Next(8) == kOwnAspect) {
    bits.Next(32);
  }
  if (bits.Flag()) {
    bits.Next(1);
  }
  if (bits.Flag()) {
    bits.Next(4);
    if (bits.Flag()) {
      bits.Next(24);
    }
  }
  if (bits.Flag()) {
    bits.SkipUnsigned(2);
  }
}

std::optional<base::Rational> RateOf(std::span<const std::uint8_t> unit) {
  if (unit.empty() || (unit[0] & 31) != kSequenceParameters) {
    return std::nullopt;
  }
  Bits bits(Payload(unit.subspan(1)));
  if (!SkipToVui(bits)) {
    return std::nullopt;
  }
  SkipToTiming(bits);
  if (!bits.Flag()) {
    return std::nullopt;
  }
  const std::int64_t tick = bits.Next(32);
  const std::int64_t scale = bits.Next(32);
  if (bits.over() || tick == 0 || scale == 0) {
    return std::nullopt;
  }
  const base::Rational rate(scale, 2 * tick);
  return base::ToDouble(rate) <= kMostFramesPerSecond ? std::optional(rate) : std::nullopt;
}

/// The first sequence parameter set behind a start code.
std::span<const std::uint8_t> AfterStartCode(std::span<const std::uint8_t> bytes) {
  for (std::size_t at = 0; at + 4 <= bytes.size(); ++at) {
    if (bytes[at] != 0 || bytes[at + 1] != 0 || bytes[at + 2] != 1 ||
        (bytes[at + 3] & 31) != kSequenceParameters) {
      continue;
    }
    std::size_t end = at + 4;
    while (end + 3 <= bytes.size() &&
           (bytes[end] != 0 || bytes[end + 1] != 0 || bytes[end + 2] > 1)) {
      ++end;
    }
    end = end + 3 <= bytes.size() ? end : bytes.size();
    return bytes.subspan(at + 3, end - at - 3);
  }
  return {};
}

}  // namespace

std::optional<base::Rational> H264StatedRate(std::span<const std::uint8_t> config) {
  constexpr std::size_t kSetsAt = 6;  // ISO/IEC 14496-15, 5.3.3.1
  if (config.size() < kSetsAt + 2) {
    return std::nullopt;
  }
  if (config[0] != 1) {
    return RateOf(AfterStartCode(config));
  }
  const std::size_t length = static_cast<std::size_t>(config[kSetsAt]) << 8U | config[kSetsAt + 1];
  const auto sets = config.subspan(kSetsAt + 2);
  return (config[5] & 31) > 0 && length <= sets.size() ? RateOf(sets.first(length)) : std::nullopt;
}

}  // namespace probes
