// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/containers/packets.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <span>
#include <utility>

#include <fmt/format.h>

#include "probes/recording/codecs/aac_block.h"
#include "probes/recording/containers/container.h"
#include "probes/recording/containers/unfinished.h"

namespace probes {
namespace {

constexpr int kMostErrors = 100;  // one after another
constexpr std::int64_t kPacketsPerLook = 4096;
constexpr int kPacketsToTry = 300;
constexpr double kMostPeriodsApart = 1.5;
/// Of a PES packet whose length is not told, libavformat hands over no more at once: what follows
/// comes as another packet, without a time.
constexpr std::int64_t kCutFromBytes = 200 * 1024 - 188;

std::optional<std::int64_t> Ticks(std::int64_t time) {
  return time == AV_NOPTS_VALUE ? std::nullopt : std::optional(time);
}

/// How packets of sound tell what they carry without a parser.
bool SoundTells(const AVFormatContext& input, const AVStream& stream) {
  const auto id = stream.codecpar->codec_id;
  if (IsContainer(input, "mpegts")) {
    return id == AV_CODEC_ID_AAC;  // several blocks a packet, each with a header
  }
  return id != AV_CODEC_ID_VORBIS && id != AV_CODEC_ID_OPUS;  // durations inside the packets
}

/// Parsers look into every packet; where packets are whole pictures with times, that is for
/// nothing.
bool PacketsAreWhole(const AVFormatContext& input) {
  if (!IsContainer(input, "matroska") && !IsContainer(input, "flv") &&
      !IsContainer(input, "mpegts")) {
    return false;
  }
  return std::all_of(input.streams, input.streams + input.nb_streams, [&](const AVStream* stream) {
    return stream->codecpar->codec_type != AVMEDIA_TYPE_AUDIO || SoundTells(input, *stream);
  });
}

std::span<const std::uint8_t> BytesOf(const AVPacket& packet) {
  return {packet.data, static_cast<std::size_t>(std::max(packet.size, 0))};
}

class PacketReader {
 public:
  PacketReader(AVFormatContext& input, RecordingSums& sums)
      : input_(input),
        sums_(sums),
        streams_(input.nb_streams),
        cut_(input.nb_streams),
        decoding_only_(IsContainer(input, "avi")),
        shown_only_(IsContainer(input, "matroska")),
        alike_if_missing_(IsContainer(input, "mpegts")) {
    for (std::size_t i = 0; i < streams_; ++i) {
      input.streams[i]->discard = Wanted(i) ? AVDISCARD_DEFAULT : AVDISCARD_ALL;
    }
  }

  /// The packets will come as they lie in the file.
  void ExpectBare() { bare_transport_ = IsContainer(input_, "mpegts"); }
  bool Wanted(std::size_t track) {
    return sums_.Pictures(track) != nullptr || sums_.Sound(track) != nullptr;
  }

  void Take(const AVPacket& packet) {
    const auto track = static_cast<std::size_t>(std::max(packet.stream_index, 0));
    if (track >= streams_) {
      ++late_;
      return;
    }
    PacketTime times{Ticks(packet.pts), Ticks(packet.dts), packet.size,
                     (packet.flags & AV_PKT_FLAG_CORRUPT) != 0};
    if (decoding_only_) {
      times.shown = times.decoded;  // AVI numbers pictures as they are decoded
    } else if (shown_only_ && times.shown) {
      times.decoded.reset();  // guessed: Matroska stores none
    } else if (alike_if_missing_ && !times.decoded) {
      times.decoded = times.shown;  // ISO/IEC 13818-1, 2.7.5
    }
    if (PictureTimes* pictures = sums_.Pictures(track)) {
      if (bare_transport_ && cut_[track] && !times.shown) {
        pictures->AddBytes(times.bytes);
      } else {
        pictures->Add(times);
      }
      cut_[track] = times.bytes > kCutFromBytes;
    } else if (SoundTimes* sound = sums_.Sound(track)) {
      const std::int64_t blocks = bare_transport_ ? AdtsBlocks(BytesOf(packet)) : 0;
      SoundRun run = SoundOf(*input_.streams[track], times, packet.duration);
      if (blocks > 0 && run.counted) {
        run.packets = blocks;
        run.step_s = run.carried_s;
      }
      sound->Add(run);
    }
  }
  std::int64_t late() const { return late_; }

 private:
  AVFormatContext& input_;
  RecordingSums& sums_;
  bool bare_transport_ = false;
  const std::size_t streams_;
  std::vector<bool> cut_;  // whether the last packet of pictures may go on in the next
  const bool decoding_only_;
  const bool shown_only_;
  const bool alike_if_missing_;
  std::int64_t late_ = 0;  // packets of streams that turned up later
};

/// The same file again, its packets as they lie in it; null where its streams are not those of
/// `known`.
base::InputPtr OpenBare(const std::filesystem::path& path, const AVFormatContext& known,
                        const std::stop_token& stop) {
  auto input = OpenContainer(path, stop, AVFMT_FLAG_NOPARSE | AVFMT_FLAG_NOFILLIN);
  if (!input || (*input)->nb_streams > known.nb_streams) {
    return nullptr;
  }
  for (unsigned i = 0; i < (*input)->nb_streams; ++i) {
    AVStream& stream = *(*input)->streams[i];
    const AVStream& same = *known.streams[i];
    if (stream.codecpar->codec_type != same.codecpar->codec_type || stream.id != same.id ||
        av_cmp_q(stream.time_base, same.time_base) != 0) {
      return nullptr;
    }
    stream.discard = same.discard;
  }
  return *std::move(input);
}

/// Whether the first packets of pictures are no further apart than the rate has it, and those of
/// AAC whole blocks: some writers of transport streams put several pictures into one, or cut
/// blocks.
bool HoldsWholePackets(AVFormatContext& bare, AVFormatContext& known) {
  const base::PacketPtr packet = base::NewPacket();
  std::vector<std::vector<std::int64_t>> times(known.nb_streams);
  for (int i = 0; i < kPacketsToTry && av_read_frame(&bare, packet.get()) >= 0; ++i) {
    const auto track = static_cast<std::size_t>(std::max(packet->stream_index, 0));
    const std::int64_t at = packet->dts != AV_NOPTS_VALUE ? packet->dts : packet->pts;
    const bool known_track = track < times.size();
    if (known_track && known.streams[track]->codecpar->codec_id == AV_CODEC_ID_AAC &&
        AdtsBlocks(BytesOf(*packet)) == 0) {
      return false;
    }
    if (known_track && at != AV_NOPTS_VALUE) {
      times[track].push_back(at);
    }
    av_packet_unref(packet.get());
  }
  for (std::size_t i = 0; i < times.size(); ++i) {
    AVStream& stream = *known.streams[i];
    const AVRational rate = av_guess_frame_rate(&known, &stream, nullptr);
    if (stream.codecpar->codec_type != AVMEDIA_TYPE_VIDEO || times[i].size() < 3 ||
        !HasTicks(rate)) {
      continue;
    }
    std::adjacent_difference(times[i].begin(), times[i].end(), times[i].begin(),
                             [](std::int64_t now, std::int64_t before) {
                               return now / 2 - before / 2;  // of hostile times
                             });
    const auto middle = times[i].begin() + 1 + static_cast<std::ptrdiff_t>(times[i].size() / 2 - 1);
    std::nth_element(times[i].begin() + 1, middle, times[i].end());
    const double step_s = 2 * static_cast<double>(*middle) * av_q2d(stream.time_base);
    if (step_s * av_q2d(rate) > kMostPeriodsApart) {
      return false;
    }
  }
  return true;
}

/// The file again, bare; null where its packets must be looked into.
base::InputPtr OpenWhole(const std::filesystem::path& path, AVFormatContext& input,
                         const std::stop_token& stop) {
  base::InputPtr bare = PacketsAreWhole(input) ? OpenBare(path, input, stop) : nullptr;
  if (bare && IsContainer(input, "mpegts")) {
    bare = HoldsWholePackets(*bare, input) ? OpenBare(path, input, stop) : nullptr;
  }
  return bare;
}

struct ReadEnd {
  double at_s = 0;  // of the packet that ends last
  bool failed = false;
  bool inside_packet = false;  // there were fewer bytes than the last packet should have
};

ReadEnd ReadAll(AVFormatContext& input, PacketReader& reader, const std::stop_token& stop,
                const ReadProgress& progress) {
  if (input.pb != nullptr && IsContainer(input, "flv")) {
    input.pb->seekable = 0;  // else it keeps a list of every packet of sound
  }
  const base::PacketPtr packet = base::NewPacket();
  ReadEnd end;
  int errors = 0;
  std::int64_t count = 0;
  for (int code = 0; code != AVERROR_EOF && errors < kMostErrors;) {
    code = av_read_frame(&input, packet.get());
    if (code < 0) {
      errors = stop.stop_requested() ? kMostErrors : errors + 1;
      continue;
    }
    errors = 0;
    reader.Take(*packet);
    end.inside_packet = (packet->flags & AV_PKT_FLAG_CORRUPT) != 0;
    if (packet->pts != AV_NOPTS_VALUE) {
      const auto ticks = static_cast<double>(packet->pts) + static_cast<double>(packet->duration);
      end.at_s = std::max(end.at_s, ticks * av_q2d(input.streams[packet->stream_index]->time_base));
    }
    if (++count % kPacketsPerLook == 0) {
      progress(end.at_s, input.pb != nullptr ? avio_tell(input.pb) : 0);
    }
    av_packet_unref(packet.get());
  }
  end.failed = errors >= kMostErrors ||
               (input.pb != nullptr && input.pb->error < 0 && input.pb->error != AVERROR_EOF);
  return end;
}

}  // namespace

namespace {

/// Samples in a packet by its codec; 0 where that does not tell.
std::int64_t SamplesIn(const AVStream& stream, std::int64_t bytes, std::int64_t ticks) {
  AVCodecParameters& codec = *stream.codecpar;
  // Some writers put another number of samples into every packet, whatever their header says.
  if (const int bits = av_get_exact_bits_per_sample(codec.codec_id);
      bits > 0 && codec.ch_layout.nb_channels > 0) {
    return bytes * 8 / bits / codec.ch_layout.nb_channels;
  }
  if (codec.codec_id == AV_CODEC_ID_OPUS) {
    // The library takes a packet's duration from its first bytes (RFC 6716, 3.1).
    const auto seconds =
        static_cast<double>(std::max<std::int64_t>(ticks, 0)) * av_q2d(stream.time_base);
    constexpr int kShortestPerSecond = 400;  // blocks of 2.5 ms
    return std::llround(seconds * kShortestPerSecond) * codec.sample_rate / kShortestPerSecond;
  }
  const int samples = av_get_audio_frame_duration2(&codec, static_cast<int>(bytes));
  if (samples == 0 && codec.codec_id == AV_CODEC_ID_AAC && codec.extradata != nullptr) {
    // The library has not come so far: sound that begins late.
    const double block_s = AacBlockSeconds(
        BitReader({codec.extradata, codec.extradata + std::max(codec.extradata_size, 0)}));
    return std::llround(block_s * codec.sample_rate);
  }
  return samples;
}

}  // namespace

SoundRun SoundOf(const AVStream& stream, const PacketTime& times, std::int64_t ticks) {
  SoundRun run;
  run.first = times;
  const int rate = stream.codecpar->sample_rate;
  const std::int64_t samples = rate > 0 ? SamplesIn(stream, times.bytes, ticks) : 0;
  if (samples > 0) {
    run.carried_s = static_cast<double>(samples) / rate;
  } else {
    run.carried_s =
        static_cast<double>(std::max<std::int64_t>(ticks, 0)) * av_q2d(stream.time_base);
    run.counted = false;
  }
  return run;
}

bool TellComplaint(Recording& recording) {
  const std::string complaint = base::TakeFfmpegComplaint();
  if (!complaint.empty()) {
    Remark(recording, "damaged: " + complaint, true);
  }
  return !complaint.empty();
}

void CheckLength(const AVFormatContext& input, double end_s, Recording& recording) {
  if (!IsContainer(input, "matroska") && !IsContainer(input, "flv") && !IsContainer(input, "asf")) {
    return;
  }
  if (input.duration == AV_NOPTS_VALUE || input.duration <= 0 ||
      input.duration_estimation_method != AVFMT_DURATION_FROM_STREAM) {
    Remark(recording, "its header gives no length: it was not closed, or written through a pipe",
           true);
    EndsAs(FileEnd::kOpen, recording);
    return;
  }
  const double stated_s = static_cast<double>(input.duration) / AV_TIME_BASE;
  if (end_s < stated_s - std::max(1.0, stated_s / 1000)) {
    Remark(recording,
           fmt::format("ends {:.1f} s before the length that its header gives: the end is gone",
                       stated_s - end_s),
           true);
    EndsAs(FileEnd::kCut, recording);
  }
}

void EndsAs(FileEnd end, Recording& recording) {
  recording.ends = std::max(recording.ends, end);
}

void Remark(Recording& recording, const std::string& text, bool partial) {
  if (partial) {
    recording.state = ReadState::kPartly;
  }
  auto& remarks = recording.remarks;
  if (remarks.size() < kMostRemarks &&
      std::find(remarks.begin(), remarks.end(), text) == remarks.end()) {
    remarks.push_back(text);
  }
}

void TellStopped(Recording& recording) {
  Remark(recording, "reading was stopped on request", true);
}

bool IsWholeInPackets(const std::filesystem::path& path, AVFormatContext& input,
                      const std::stop_token& stop) {
  return OpenWhole(path, input, stop) != nullptr;
}

void TakePackets(const std::filesystem::path& path, AVFormatContext& input, RecordingSums& sums,
                 const std::stop_token& stop, const ReadProgress& progress, Recording& recording) {
  PacketReader reader(input, sums);
  const base::InputPtr bare = OpenWhole(path, input, stop);
  if (bare) {
    reader.ExpectBare();
  }
  const ReadEnd end = ReadAll(bare ? *bare : input, reader, stop, progress);
  if (stop.stop_requested()) {
    TellStopped(recording);
    return;
  }
  if (!TellComplaint(recording) && end.failed) {
    Remark(recording, "could not be read to its end", true);
  }
  if (reader.late() > 0) {
    Remark(recording,
           fmt::format("{} packets of streams that its beginning does not tell of", reader.late()),
           false);
  }
  if (end.inside_packet && IsContainer(input, "flv")) {
    Remark(recording, kEndsInsidePacket, true);
    EndsAs(FileEnd::kCut, recording);
  }
  CheckLength(input, end.at_s, recording);
}

}  // namespace probes
