// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/containers/flv_tags.h"

#include <algorithm>
#include <cstdint>
#include <optional>
#include <span>

#include "probes/recording/bytes/forward_bytes.h"

namespace probes {
namespace {

constexpr std::int64_t kFileHeadBytes = 9;
constexpr std::int64_t kTagHeadBytes = 11;
constexpr std::int64_t kSizeBytes = 4;  // behind each tag stands how long it is
constexpr std::size_t kLookBytes = kTagHeadBytes + 5;
constexpr std::uint8_t kSoundTag = 8;
constexpr std::uint8_t kPictureTag = 9;
constexpr std::uint8_t kScriptTag = 18;
constexpr std::uint8_t kH264 = 7;
constexpr std::uint8_t kMp3 = 2;
constexpr std::uint8_t kAac = 10;
constexpr std::uint8_t kHighestFrameType = 4;  // 5 is a command, and above it other forms begin
/// Where a clock of 32 bits may have come round, libavformat tells.
constexpr std::int64_t kLatestMs = INT32_MAX;
constexpr std::int64_t kTagsPerLook = 4096;

std::int64_t Number(std::span<const std::uint8_t> bytes, std::size_t at, std::size_t count) {
  std::int64_t number = 0;
  for (std::size_t i = 0; i < count; ++i) {
    number = number << 8 | bytes[at + i];
  }
  return number;
}

/// A track of the file, by the library's number for it.
struct FlvTrack {
  std::size_t stream = 0;
  std::uint8_t codec = 0;  // as tags name it
};

struct FlvTracks {
  std::optional<FlvTrack> pictures;
  std::optional<FlvTrack> sound;
};

std::uint8_t CodecOf(const AVStream& stream) {
  switch (stream.codecpar->codec_id) {
    case AV_CODEC_ID_H264:
      return kH264;
    case AV_CODEC_ID_AAC:
      return kAac;
    case AV_CODEC_ID_MP3:
      return kMp3;
    default:
      return 0;
  }
}

/// Nothing where a track is of another form, or is not the only one of its kind.
std::optional<FlvTracks> TracksOf(const AVFormatContext& input) {
  FlvTracks tracks;
  for (unsigned i = 0; i < input.nb_streams; ++i) {
    const AVStream& stream = *input.streams[i];
    const AVMediaType type = stream.codecpar->codec_type;
    if (type != AVMEDIA_TYPE_VIDEO && type != AVMEDIA_TYPE_AUDIO) {
      continue;
    }
    auto& track = type == AVMEDIA_TYPE_VIDEO ? tracks.pictures : tracks.sound;
    if (track || CodecOf(stream) == 0 || av_cmp_q(stream.time_base, {1, 1000}) != 0) {
      return std::nullopt;
    }
    track = FlvTrack{i, CodecOf(stream)};
  }
  return tracks;
}

class TagReader {
 public:
  TagReader(const FlvTracks& tracks, const AVFormatContext& input, RecordingSums& sums)
      : pictures_(tracks.pictures),
        sound_(tracks.sound),
        sound_stream_(tracks.sound ? input.streams[tracks.sound->stream] : nullptr),
        picture_times_(pictures_ ? sums.Pictures(pictures_->stream) : nullptr),
        sound_times_(sound_ ? sums.Sound(sound_->stream) : nullptr) {}

  /// A tag whose head is `head`, with `size` bytes behind the head; false where it is strange.
  bool Take(std::span<const std::uint8_t> head, std::int64_t size) {
    const std::int64_t at_ms = Number(head, 7, 1) << 24 | Number(head, 4, 3);
    if (at_ms < 0 || at_ms >= kLatestMs || Number(head, 8, 3) != 0) {
      return false;
    }
    const auto body = head.subspan(kTagHeadBytes);
    switch (head[0]) {
      case kPictureTag:
        return TakePicture(body, size, at_ms);
      case kSoundTag:
        return TakeSound(body, size, at_ms);
      default:
        return head[0] == kScriptTag;
    }
  }

  double end_s() const { return static_cast<double>(end_ms_) / 1000; }

 private:
  bool TakePicture(std::span<const std::uint8_t> body, std::int64_t size, std::int64_t at_ms) {
    constexpr std::int64_t kHeadBytes = 5;
    if (!pictures_ || size < kHeadBytes || (body[0] & 0xf) != kH264 ||
        body[0] >> 4 > kHighestFrameType) {
      return false;
    }
    const std::int64_t later_ms = Number(body, 2, 3);
    constexpr std::int64_t kFirstNegative = 1 << 23;
    if (later_ms >= kFirstNegative) {
      return false;  // then no time is certain
    }
    const bool holds_picture = body[1] == 1 && size > kHeadBytes;
    if (holds_picture && picture_times_ != nullptr) {
      picture_times_->Add({at_ms + later_ms, at_ms, size - kHeadBytes, false});
    }
    end_ms_ = holds_picture ? std::max(end_ms_, at_ms + later_ms) : end_ms_;
    return body[1] <= 2;
  }

  bool TakeSound(std::span<const std::uint8_t> body, std::int64_t size, std::int64_t at_ms) {
    const std::int64_t head_bytes = sound_ && sound_->codec == kAac ? 2 : 1;
    if (!sound_ || size < head_bytes || body[0] >> 4 != sound_->codec) {
      return false;
    }
    const bool begins = head_bytes == 2 && body[1] == 0;  // what a decoder needs, no sound
    if (!begins && size > head_bytes) {
      if (sound_times_ != nullptr) {
        sound_times_->Add(
            SoundOf(*sound_stream_, {at_ms, at_ms, size - head_bytes, false}, /*ticks=*/0));
      }
      end_ms_ = std::max(end_ms_, at_ms);
    }
    return true;
  }

  const std::optional<FlvTrack> pictures_;
  const std::optional<FlvTrack> sound_;
  const AVStream* const sound_stream_;
  PictureTimes* const picture_times_;
  SoundTimes* const sound_times_;
  std::int64_t end_ms_ = 0;
};

/// Where the first tag begins; nothing for what is no FLV file, or one of a later version.
std::optional<std::int64_t> FirstTag(ForwardBytes& bytes) {
  const auto head = bytes.At(0, kFileHeadBytes);
  if (head.size() < kFileHeadBytes || Number(head, 0, 4) != 0x464c5601 ||
      Number(head, 5, 4) != kFileHeadBytes) {
    return std::nullopt;
  }
  return kFileHeadBytes + kSizeBytes;
}

}  // namespace

bool TakeFlvTags(ByteSource& source, const AVFormatContext& input, RecordingSums& sums,
                 const std::stop_token& stop, const ReadProgress& progress, Recording& recording) {
  ForwardBytes bytes(source);
  const auto tracks = TracksOf(input);
  const auto first = FirstTag(bytes);
  if (!tracks || !first) {
    return false;
  }
  TagReader reader(*tracks, input, sums);
  std::int64_t at = *first;
  for (std::int64_t count = 1; at < bytes.size(); ++count) {
    const auto head = bytes.At(at, kLookBytes);
    if (head.size() < kLookBytes) {
      return false;
    }
    const std::int64_t size = Number(head, 1, 3);
    if (!reader.Take(head, size)) {
      return false;
    }
    const std::int64_t end = at + kTagHeadBytes + size;
    const auto again = bytes.At(end, kSizeBytes);
    if (again.size() < static_cast<std::size_t>(kSizeBytes) ||
        Number(again, 0, 4) != kTagHeadBytes + size) {
      return false;
    }
    at = end + kSizeBytes;
    if (count % kTagsPerLook == 0) {
      progress(reader.end_s(), at);
      if (stop.stop_requested()) {
        TellStopped(recording);
        return true;
      }
    }
  }
  TellComplaint(recording);
  CheckLength(input, reader.end_s(), recording);
  return true;
}

}  // namespace probes
