// SPDX-License-Identifier: Apache-2.0
//
// What a simulated source hands over, made before the run: pictures in the capture device's
// format, or compressed packets.

#pragma once

#include <cstdint>
#include <filesystem>
#include <stop_token>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "profiles/profile.h"

namespace bench {

/// Frames that play in a circle. Either `pictures` (raw capture) or `packets`
/// (compressed capture or network; each decodes to one picture) is filled.
struct FeedRing {
  std::vector<base::FramePtr> pictures;
  std::vector<base::PacketPtr> packets;
  AVCodecID packet_codec = AV_CODEC_ID_NONE;
  std::int64_t bytes = 0;
  double prepare_seconds = 0;

  std::size_t size() const { return pictures.empty() ? packets.size() : pictures.size(); }
};

/// Fewer would not move smoothly.
inline constexpr int kFewestRingFrames = 12;

/// Frames in the ring of one source: enough to be larger than `cache_bytes`
/// and to move smoothly, few enough for memory.
int RingFrames(const profiles::Source& source, std::int64_t cache_bytes);

/// Paints (or reads the clip, relative to `clip_folder`) and converts.
/// `seed` makes sources differ; `painters` work at once. kInvalid for a clip that cannot be read,
/// kIo when `stop` was requested before all was made.
base::Result<FeedRing> MakeFeedRing(const profiles::Source& source,
                                    const std::filesystem::path& clip_folder, int frames,
                                    std::uint32_t seed, const std::stop_token& stop,
                                    int painters = 1);

/// Another owner of the same pictures or packets.
FeedRing ShareRing(const FeedRing& ring);

}  // namespace bench
