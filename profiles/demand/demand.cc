// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/demand.h"

#include <algorithm>

#include "profiles/demand/capture_demand.h"
#include "profiles/demand/codec_level.h"
#include "profiles/demand/container_overhead.h"
#include "profiles/demand/encode_sharing.h"
#include "profiles/demand/file_limits.h"
#include "profiles/demand/memory_demand.h"
#include "profiles/demand/memory_traffic.h"
#include "profiles/demand/sdi_link.h"
#include "profiles/demand/stream_url.h"
#include "profiles/demand/wire_overhead.h"
#include "profiles/words.h"

namespace profiles {
namespace {

SourceDemand DemandOf(const Source& source) {
  SourceDemand demand;
  demand.name = source.name;
  if (source.arrives_by == ArrivesBy::kNetwork) {
    demand.bytes_per_second = source.bitrate_kbps * 125.0;
    demand.network_bits_per_second =
        RtpWireBitsPerSecond(source.rate, source.bitrate_kbps, source.codec == "hevc");
    return demand;
  }
  const CapturePayload payload = CapturePayloadOf(source);
  demand.frame_bytes = payload.frame_bytes;
  demand.bytes_per_second = payload.bytes_per_second;
  demand.assumed = payload.assumed;
  if (const auto link = SdiLinkFor(source.raster, source.rate)) {
    demand.sdi_bits_per_second = link->bits_per_second;
    demand.sdi_link = link->name;
  }
  return demand;
}

LevelNeed LevelOf(const Output& output) {
  const EncodedPicture picture{output.raster, output.rate, output.bitrate_kbps,
                               ReferencePictures(output.effort), NeedsHighProfile(output.effort)};
  if (output.codec == "h264") {
    return H264LevelOf(picture);
  }
  if (output.codec == "hevc") {
    return HevcLevelOf(picture);
  }
  return output.codec == "av1" ? Av1LevelOf(picture) : LevelNeed{};
}

std::int64_t MacroblocksPerSecond(const Output& output) {
  const std::int64_t frame = static_cast<std::int64_t>((output.raster.width + 15) / 16) *
                             ((output.raster.height + 15) / 16);
  return base::RoundedProduct(output.rate, frame);
}

/// Video, audio and container.
double MediaBitsPerSecond(const Profile& profile, const Output& output) {
  const PacketFlow flow{output.rate, output.bitrate_kbps * 125.0, profile.audio};
  const double audio_kbps = profile.audio ? profile.audio->bitrate_kbps : 0;
  return (output.bitrate_kbps + audio_kbps) * 1000.0 +
         ContainerBytesPerSecond(output.container, flow) * 8;
}

/// On the wire; where the user's own line is named, with what it may send again.
double StreamBitsPerSecond(const Output& output, double media_bits_per_second) {
  const Transport transport = TransportOf(output.url, output.container);
  const double wire = StreamWireBitsPerSecond(transport, media_bits_per_second);
  return output.url == kLoopback ? wire : WithRecovery(transport, wire);
}

OutputDemand DemandOf(const Profile& profile, const Output& output) {
  OutputDemand demand;
  demand.name = output.name;
  demand.macroblocks_per_second = MacroblocksPerSecond(output);
  const LevelNeed level = LevelOf(output);
  demand.level = level.level;
  demand.level_limit = level.limit;
  demand.level_commonly_played = level.commonly_played;
  demand.media_bits_per_second = MediaBitsPerSecond(profile, output);
  if (output.kind == OutputKind::kStream) {
    demand.network_bits_per_second = StreamBitsPerSecond(output, demand.media_bits_per_second);
  } else {
    demand.disk_bytes_per_second = demand.media_bits_per_second / 8;
    demand.space_bytes = demand.disk_bytes_per_second * profile.duration_minutes * 60;
  }
  return demand;
}

bool NeedsDecoding(const Source& source) {
  return source.arrives_by == ArrivesBy::kNetwork || CapturePayloadOf(source).assumed;
}

void SumSources(const Profile& profile, Demand& demand) {
  for (const Source& source : profile.sources) {
    demand.sources.push_back(DemandOf(source));
    const SourceDemand& one = demand.sources.back();
    demand.network_in_bits_per_second += one.network_bits_per_second;
    demand.decode_sessions += NeedsDecoding(source) ? 1 : 0;
    if (source.arrives_by != ArrivesBy::kNetwork) {
      demand.capture_bytes_per_second += one.bytes_per_second;
    }
  }
}

void SumOutputs(const Profile& profile, Demand& demand) {
  for (const Output& output : profile.outputs) {
    demand.outputs.push_back(DemandOf(profile, output));
    const OutputDemand& one = demand.outputs.back();
    demand.disk_bytes_per_second += one.disk_bytes_per_second;
    demand.space_bytes += one.space_bytes;
    demand.largest_file_bytes = std::max(demand.largest_file_bytes, one.space_bytes);
    demand.network_out_bits_per_second += one.network_bits_per_second;
  }
}

/// Tells each of these outputs the names of the others.
void NameSharers(const Profile& profile, const std::vector<std::size_t>& encode, Demand& demand) {
  for (const std::size_t output : encode) {
    for (const std::size_t other : encode) {
      if (other != output) {
        demand.outputs[output].shares_encode_with.push_back(profile.outputs[other].name);
      }
    }
  }
}

void SumEncodes(const Profile& profile, Demand& demand) {
  for (const std::vector<std::size_t>& encode : Encodes(profile.outputs)) {
    const EncoderChoice choice = profile.outputs[encode.front()].encoder;
    demand.encode_sessions += 1;
    demand.software_encodes += choice == EncoderChoice::kSoftware ? 1 : 0;
    demand.hardware_encodes += choice == EncoderChoice::kHardware ? 1 : 0;
    NameSharers(profile, encode, demand);
  }
}

}  // namespace

Demand SumDemand(const Profile& profile) {
  Demand demand;
  SumSources(profile, demand);
  SumOutputs(profile, demand);
  SumEncodes(profile, demand);
  demand.displays = profile.displays;
  demand.memory_pool_bytes = MemoryPoolBytes(profile);
  demand.memory_traffic_bytes_per_second = MemoryTrafficBytesPerSecond(profile);
  return demand;
}

}  // namespace profiles
