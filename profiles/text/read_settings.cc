// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/read_settings.h"

#include <array>

#include <fmt/format.h>

#include "profiles/text/margin_keys.h"
#include "profiles/text/read_fields.h"

namespace profiles {
namespace {

constexpr int kLowestAudioKbps = 16;
constexpr int kHighestAudioKbps = 2304;  // 8 channels of 288
// An AAC frame is 1024 samples and at most 6144 bits for each channel
// (ISO/IEC 14496-3, from memory; the same bound stands in FFmpeg libavcodec/aacenc.c).
constexpr int kAacFrameSamples = 1024;
constexpr int kAacFrameBits = 6144;

double MostAacKbps(const Audio& audio) {
  return static_cast<double>(audio.channels) * kAacFrameBits * audio.sample_rate_hz /
         kAacFrameSamples / 1000;
}

}  // namespace

Multiview ReadPicture(const JsonCursor& at) {
  at.CheckKeys({"raster", "rate"});
  return Multiview{ReadRaster(at.Member("raster"), RasterStep{}), ReadRate(at.Member("rate"))};
}

std::optional<Audio> ReadAudio(const JsonCursor& at) {
  if (at.IsNull()) {
    return std::nullopt;
  }
  at.CheckKeys({"channels", "sample_rate_hz", "bitrate_kbps"});
  Audio audio;
  audio.channels = at.Member("channels").WholeOf({1, 2, 6, 8});
  audio.sample_rate_hz = at.Member("sample_rate_hz").WholeOf({44100, 48000});
  const JsonCursor bitrate = at.Member("bitrate_kbps");
  audio.bitrate_kbps = bitrate.Whole(kLowestAudioKbps, kHighestAudioKbps);
  if (at.Sound() && audio.bitrate_kbps > MostAacKbps(audio)) {
    bitrate.RefuseFound(fmt::format("at most {:.0f}, all that AAC can use for {} channels at {} Hz",
                                    MostAacKbps(audio), audio.channels, audio.sample_rate_hz));
  }
  return audio;
}

std::optional<Multiview> ReadMultiview(const JsonCursor& at) {
  return at.IsNull() ? std::nullopt : std::optional(ReadPicture(at));
}

Margins ReadMargins(const JsonCursor& at) {
  Margins margins;
  std::vector<std::string> keys;
  keys.reserve(kMarginKeys.size());
  for (const MarginKey& key : kMarginKeys) {
    keys.emplace_back(key.name);
  }
  at.CheckKeys(keys);
  for (const MarginKey& key : kMarginKeys) {
    if (at.Has(key.name)) {
      margins.*key.member = at.Member(key.name).Number(0, key.most);
    }
  }
  return margins;
}

}  // namespace profiles
