// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/container_overhead.h"

#include <algorithm>
#include <array>

namespace profiles {
namespace {

/// Bytes around each packet, and bytes a second whatever the packets.
struct Wrapping {
  std::string_view container;
  double picture_bytes;
  double audio_bytes;
  double steady_bytes_per_second;
};

// mkv: SimpleBlock ID 1, length 3 (audio 2), track 1, time 2, flags 1; a cluster
//   head and a cue for each group of pictures (matroska.org specification).
// mp4, mov: for a picture in a chunk of its own one entry in stsz 4, ctts 8 and
//   stco 4; for audio stsz 4 and a share of stco (ISO/IEC 14496-12); stts and
//   stsc are run lengths.
// flv: tag header 11, previous size 4, codec header 5 (audio 2) (FLV specification 10.1).
constexpr std::array kWrappings{
    Wrapping{"mkv", 8, 7, 60},
    Wrapping{"mp4", 16, 5, 4},
    Wrapping{"mov", 16, 5, 4},
    Wrapping{"flv", 20, 17, 0},
};

constexpr double kAacFrameSamples = 1024;

// ISO/IEC 13818-1: 188-byte packets with a 4-byte header.
constexpr double kTsPacket = 188;
constexpr double kTsPayload = 184;
// PES header with both time stamps 19, access unit delimiter 6, clock reference 8.
constexpr double kPicturePesBytes = 33;
// PES header with one time stamp, and the ADTS header of its one AAC frame. (FFmpeg
// gathers frames only where a muxing delay is allowed, as its command line does.)
constexpr double kAudioPesBytes = 14;
constexpr double kAdtsBytes = 7;
// Tables: program association and map ten times a second, description twice
// (libavformat/mpegtsenc.c defaults).
constexpr double kTsTablePacketsPerSecond = 22;

/// A PES packet ends in a transport packet filled up by half on average.
double TsBytesAround(double extra_bytes, double payload_bytes) {
  const double total = payload_bytes + extra_bytes + kTsPayload / 2;
  return total / kTsPayload * kTsPacket - payload_bytes;
}

double TsBytesPerSecond(const PacketFlow& flow) {
  const double rate = base::ToDouble(flow.picture_rate);
  double bytes = rate * TsBytesAround(kPicturePesBytes, flow.picture_bytes_per_second / rate) +
                 kTsTablePacketsPerSecond * kTsPacket;
  const double frames = AudioPacketsPerSecond(flow);
  if (frames > 0) {
    bytes += frames *
             TsBytesAround(kAudioPesBytes + kAdtsBytes, flow.audio->bitrate_kbps * 125.0 / frames);
  }
  return bytes;
}

}  // namespace

double AudioPacketsPerSecond(const PacketFlow& flow) {
  return flow.audio ? flow.audio->sample_rate_hz / kAacFrameSamples : 0;
}

double ContainerBytesPerSecond(std::string_view container, const PacketFlow& flow) {
  if (container == "mpegts") {
    return TsBytesPerSecond(flow);
  }
  const auto* const found =
      std::find_if(kWrappings.begin(), kWrappings.end(),
                   [&](const Wrapping& wrapping) { return wrapping.container == container; });
  if (found == kWrappings.end()) {
    return 0;
  }
  return base::ToDouble(flow.picture_rate) * found->picture_bytes +
         AudioPacketsPerSecond(flow) * found->audio_bytes + found->steady_bytes_per_second;
}

}  // namespace profiles
