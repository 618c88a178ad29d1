// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/containers/blocks.h"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "probes/recording/codecs/opus_packet.h"
#include "probes/recording/matroska/ids.h"
#include "probes/recording/matroska/walk.h"

namespace probes {
namespace {

/// Where each track of the head stands among the library's streams, which leave out those of
/// unknown kinds; nothing where the two do not agree.
std::optional<std::vector<std::size_t>> StreamsOf(const MatroskaHead& head,
                                                  const AVFormatContext& input) {
  std::vector<std::size_t> streams;
  std::size_t next = 0;
  for (const MatroskaTrack& track : head.tracks) {
    const bool known = track.type == matroska::kVideo || track.type == matroska::kAudio ||
                       track.type == matroska::kSubtitle || track.type == matroska::kMetadata;
    if (!known || track.codec.empty()) {
      streams.push_back(input.nb_streams);
      continue;
    }
    if (next >= input.nb_streams) {
      return std::nullopt;
    }
    const AVStream& stream = *input.streams[next];
    const AVMediaType type = stream.codecpar->codec_type;
    const AVRational tick = {static_cast<int>(std::min<std::int64_t>(head.tick_ns, INT32_MAX)),
                             1'000'000'000};
    if (av_cmp_q(stream.time_base, tick) != 0 ||
        (type == AVMEDIA_TYPE_VIDEO) != (track.type == matroska::kVideo) ||
        (type == AVMEDIA_TYPE_AUDIO) != (track.type == matroska::kAudio)) {
      return std::nullopt;
    }
    streams.push_back(next++);
  }
  return streams;
}

/// Whether the heads of blocks tell all that is asked of this track: in Vorbis and FLAC only a
/// parser finds how much sound a packet carries, and what is in blocks of A_REAL is interleaved.
bool IsTold(const MatroskaTrack& track) {
  const bool counted = track.type == matroska::kVideo || track.type == matroska::kAudio;
  return !counted || (track.plain && track.codec != "A_VORBIS" && track.codec != "A_FLAC" &&
                      !track.codec.starts_with("A_REAL/"));
}

class BlockReader {
 public:
  BlockReader(const MatroskaHead& head, std::vector<std::size_t> streams,
              const AVFormatContext& input, RecordingSums& sums)
      : head_(head),
        streams_(std::move(streams)),
        input_(input),
        sums_(sums),
        tick_s_(static_cast<double>(head.tick_ns) * 1e-9) {}

  void Take(const MatroskaBlock& block) {
    const std::size_t stream = streams_[block.track];
    PictureTimes* pictures = sums_.Pictures(stream);
    SoundTimes* sound = sums_.Sound(stream);
    if (pictures == nullptr && sound == nullptr) {
      return;
    }
    const MatroskaTrack& track = head_.tracks[block.track];
    const std::int64_t ticks = TicksOf(block, head_);
    // What is laced follows the first by the length of a frame, where one is told.
    auto at = block.at;
    for (std::int64_t i = 0; i < block.frames; ++i) {
      const std::int64_t frame_ticks = ticks * (i + 1) / block.frames - ticks * i / block.frames;
      PacketTime times{at, std::nullopt, block.bytes / block.frames, false};
      if (pictures != nullptr) {
        AddPicture(track, times, *pictures);
      } else {
        AddSound(track, *input_.streams[stream], block, times, frame_ticks, *sound);
      }
      at = at && frame_ticks > 0 ? std::optional(*at + frame_ticks) : std::nullopt;
    }
    if (block.at) {
      end_s_ = std::max(end_s_, tick_s_ * static_cast<double>(*block.at + ticks));
    }
  }

  double end_s() const { return end_s_; }

 private:
  static void AddPicture(const MatroskaTrack& track, PacketTime times, PictureTimes& pictures) {
    if (track.codec == "V_MS/VFW/FOURCC") {
      std::swap(times.shown, times.decoded);  // its times are those of AVI
    }
    pictures.Add(times);
  }

  static void AddSound(const MatroskaTrack& track, const AVStream& stream,
                       const MatroskaBlock& block, const PacketTime& times, std::int64_t ticks,
                       SoundTimes& sound) {
    SoundRun run = SoundOf(stream, times, ticks);
    if (track.codec == "A_OPUS") {
      run.counted = block.frames == 1;
      run.carried_s = run.counted ? OpusSeconds(block.first[0], block.first[1]) : run.carried_s;
    }
    sound.Add(run);
  }

  const MatroskaHead& head_;
  const std::vector<std::size_t> streams_;
  const AVFormatContext& input_;
  RecordingSums& sums_;
  const double tick_s_;
  double end_s_ = 0;
};

std::string DamageOf(const MatroskaEnd& end) {
  const bool once = end.damaged_places == 1;
  const std::string places = once ? "" : fmt::format(", in {} places", end.damaged_places);
  std::string text = fmt::format("damaged from byte {} on{}: {} bytes were passed over up to ",
                                 end.damaged_at, places, end.lost_bytes);
  if (end.lost_to_end && once) {
    return text + "the file's end: no cluster begins in them";
  }
  return text + "where a cluster begins again" +
         (end.lost_to_end ? ", at last up to the file's end" : "");
}

void TellDamage(const MatroskaEnd& end, Recording& recording) {
  if (end.damaged_places > 0) {
    Remark(recording, DamageOf(end), true);
  }
  if (end.cut && !end.failed) {
    Remark(recording, "the recording ends inside a cluster: it was cut short, or not finished",
           true);
    EndsAs(FileEnd::kCut, recording);
  }
  if (end.failed) {
    Remark(recording, "could not be read everywhere", true);
  }
  if (end.strange_blocks > 0) {
    Remark(
        recording,
        fmt::format("{} blocks of tracks that its beginning does not tell of", end.strange_blocks),
        true);
  }
  if (end.other_document >= 0) {
    Remark(recording,
           fmt::format("another recording with other tracks begins at byte {}: that was not read",
                       end.other_document),
           true);
  }
}

}  // namespace

bool TakeBlocks(ByteSource& source, const AVFormatContext& input, RecordingSums& sums,
                const std::stop_token& stop, const ReadProgress& progress, Recording& recording) {
  ForwardBytes bytes(source);
  const auto head = ReadMatroskaHead(bytes, 0);
  if (!head || !std::all_of(head->tracks.begin(), head->tracks.end(), IsTold)) {
    return false;
  }
  auto streams = StreamsOf(*head, input);
  if (!streams) {
    return false;
  }
  BlockReader reader(*head, *std::move(streams), input, sums);
  const auto end = WalkMatroska(
      bytes, *head, stop, [&](const MatroskaBlock& block) { reader.Take(block); },
      [&](std::int64_t at) { progress(reader.end_s(), at); });
  if (end.stopped) {
    TellStopped(recording);
    return true;
  }
  TellDamage(end, recording);
  CheckLength(input, reader.end_s(), recording);
  return true;
}

}  // namespace probes
