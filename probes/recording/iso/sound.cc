// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/iso/sound.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>
#include <span>

#include "probes/recording/codecs/aac_block.h"

namespace probes {
namespace {

constexpr double kMostSamplesPerSecond = 1e7;
/// Further from every length that the codec allows, in shares of it, it is none of them.
constexpr double kNearLength = 0.25;

/// Past a descriptor's length (ISO/IEC 14496-1, 8.3.3), up to four bytes of seven bits.
std::int64_t AfterLength(ByteWindow& bytes, std::int64_t at) {
  for (int i = 0; i < 4; ++i) {
    if ((bytes.Number(at++, 1).value_or(0) & 0x80) == 0) {
      break;
    }
  }
  return at;
}

double MpegBlockSeconds(ByteWindow& bytes, const IsoBox& esds, int rate) {
  constexpr unsigned kConfig = 4;
  constexpr unsigned kSpecific = 5;
  constexpr unsigned kStream = 3;
  std::int64_t at = esds.begin + 4;
  const auto next = [&](unsigned tag) {
    if (bytes.Number(at, 1).value_or(0) != tag) {
      return false;
    }
    at = AfterLength(bytes, at + 1);
    return at < esds.end;
  };
  if (!next(kStream)) {
    return 0;
  }
  const auto flags = bytes.Number(at + 2, 1).value_or(0);
  if ((flags & 0xe0) != 0) {
    return 0;  // depends on other streams
  }
  at += 3;
  if (!next(kConfig)) {
    return 0;
  }
  const auto coding = bytes.Number(at, 1).value_or(0);
  at += 13;
  // Object types of ISO/IEC 14496-1 as the registration authority lists them.
  switch (coding) {
    case 0x40:
    case 0x66:
    case 0x67:
    case 0x68:
      return next(kSpecific) ? AacBlockSeconds(BitReader(ContentOf(bytes, esds, at))) : 0;
    case 0x69:
    case 0x6b:
      return rate > 0 ? (rate >= 32'000 ? 1152.0 : 576.0) / rate : 0;
    default:
      return 0;
  }
}

/// Bytes of one channel's sample; 0 for what is no PCM.
int PcmBytes(std::uint32_t coding, int bits) {
  switch (coding) {
    case IsoType("raw "):
    case IsoType("twos"):
    case IsoType("sowt"):
      return bits == 8 ? 1 : 2;
    case IsoType("in24"):
      return 3;
    case IsoType("in32"):
    case IsoType("fl32"):
      return 4;
    case IsoType("fl64"):
      return 8;
    case IsoType("alaw"):
    case IsoType("ulaw"):
      return 1;
    case IsoType("lpcm"):
    case IsoType("ipcm"):
    case IsoType("fpcm"):
      return bits > 0 && bits <= 64 && bits % 8 == 0 ? bits / 8 : 0;
    default:
      return 0;
  }
}

double Nearest(std::span<const int> lengths, double samples) {
  const auto near = std::min_element(lengths.begin(), lengths.end(), [&](int left, int right) {
    return std::fabs(left - samples) < std::fabs(right - samples);
  });
  return std::fabs(*near - samples) <= kNearLength * *near ? *near : 0;
}

}  // namespace

void ReadSoundEntry(ByteWindow& bytes, const IsoBox& entry, IsoTrack& track) {
  const auto number = [&](std::int64_t offset, std::size_t count) {
    return static_cast<int>(std::min<std::uint64_t>(NumberIn(bytes, entry, offset, count),
                                                    std::numeric_limits<int>::max()));
  };
  const int version = number(8, 2);
  int bits = number(18, 2);
  track.channels = number(16, 2);
  track.samples_per_second = number(24, 2);
  std::int64_t boxes_at = 28;
  if (version == 1) {
    boxes_at = 44;
  } else if (version == 2) {
    boxes_at = 64;
    const auto rate = std::bit_cast<double>(NumberIn(bytes, entry, 32, 8));
    track.samples_per_second =
        rate >= 1 && rate <= kMostSamplesPerSecond ? static_cast<int>(std::lround(rate)) : 0;
    track.channels = number(40, 4);
    bits = number(48, 4);
  }
  if (track.samples_per_second == 0 && track.ticks_per_second <= 768'000) {
    track.samples_per_second = static_cast<int>(track.ticks_per_second);
  }
  track.pcm_bytes = PcmBytes(track.coding, bits) * std::clamp(track.channels, 0, 1024);
  const int rate = track.samples_per_second;
  if (track.coding == IsoType("mp4a")) {
    auto esds = BoxIn(bytes, entry, IsoType("esds"), boxes_at);
    if (!esds) {
      const auto wave = BoxIn(bytes, entry, IsoType("wave"), boxes_at);
      esds = wave ? BoxIn(bytes, *wave, IsoType("esds")) : std::nullopt;
    }
    track.block_s = esds ? MpegBlockSeconds(bytes, *esds, rate) : 0;
  } else if (track.coding == IsoType(".mp3") && rate > 0) {
    track.block_s = (rate >= 32'000 ? 1152.0 : 576.0) / rate;
  } else if (track.coding == IsoType("ac-3") && rate > 0) {
    track.block_s = 1536.0 / rate;  // ETSI TS 102 366, 4.1
  }
}

double SoundInBlock(const IsoTrack& track, std::int64_t sample_bytes, std::int64_t usual_ticks) {
  const int rate = track.samples_per_second;
  if (track.pcm_bytes > 0 && rate > 0) {
    const std::int64_t samples = sample_bytes / track.pcm_bytes;
    return static_cast<double>(samples) / rate;
  }
  if (track.block_s > 0 || usual_ticks <= 0 || track.ticks_per_second == 0) {
    return track.block_s;
  }
  const double usual_s =
      static_cast<double>(usual_ticks) / static_cast<double>(track.ticks_per_second);
  if (track.coding == IsoType("Opus")) {
    constexpr std::array<int, 9> kLengths = {120, 240, 480, 960, 1920, 2880, 3840, 4800, 5760};
    return Nearest(kLengths, usual_s * 48'000) / 48'000;  // RFC 6716, 2.1.4
  }
  if (track.coding == IsoType("ec-3") && rate > 0) {
    constexpr std::array<int, 4> kLengths = {256, 512, 768, 1536};
    return Nearest(kLengths, usual_s * rate) / rate;
  }
  return 0;
}

}  // namespace probes
