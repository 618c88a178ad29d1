// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/containers/pes_packets.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "probes/recording/bytes/forward_bytes.h"
#include "probes/recording/codecs/aac_block.h"

namespace probes {
namespace {

constexpr std::size_t kPacketBytes = 188;
constexpr std::size_t kPids = 1 << 13;
constexpr std::uint8_t kSync = 0x47;
constexpr std::size_t kPesHeadBytes = 9;
constexpr std::int64_t kTicksPerSecond = 90'000;
/// Of 33 bits; nearer to where they come round, libavformat tells what is meant.
constexpr std::int64_t kLatestFirst = (std::int64_t{1} << 33) - (std::int64_t{1} << 31);
constexpr std::int64_t kMostBack = 30 * kTicksPerSecond;

using Packet = std::span<const std::uint8_t>;

/// What follows the adaptation field; nothing where the packet is not as it should be, or tells of
/// a break.
std::optional<Packet> PayloadOf(Packet packet) {
  std::size_t from = 4;
  if ((packet[3] & 0x20) != 0) {
    from += 1U + packet[4];
    if (packet[4] > 0 && (packet[5] & 0x80) != 0) {
      return std::nullopt;
    }
  }
  const bool carries = (packet[3] & 0x10) != 0;
  if (from > kPacketBytes || (carries && from == kPacketBytes)) {
    return std::nullopt;
  }
  return carries ? packet.subspan(from) : Packet();
}

std::int64_t TimeAt(Packet field) {
  return (field[0] & std::int64_t{0x0e}) << 29 | field[1] << 22 | (field[2] & 0xfe) << 14 |
         field[3] << 7 | field[4] >> 1;
}

struct PesHead {
  PacketTime times;
  std::optional<std::int64_t> bytes;  // behind the head; nothing: up to the next
  std::size_t length = 0;             // of the head itself
};

/// Nothing for one without a time, scrambled, or longer than the first packet.
std::optional<PesHead> HeadOf(Packet payload) {
  constexpr std::uint8_t kSoundId = 0xc0;
  constexpr std::uint8_t kBehindPictures = 0xf0;
  if (payload.size() < kPesHeadBytes || payload[0] != 0 || payload[1] != 0 || payload[2] != 1 ||
      payload[3] < kSoundId || payload[3] >= kBehindPictures || payload[6] >> 4 != 8) {
    return std::nullopt;
  }
  const int times = payload[7] >> 6;
  const std::size_t needed = times == 3 ? 10 : 5;
  PesHead head;
  head.length = kPesHeadBytes + payload[8];
  if (times < 2 || payload[8] < needed || payload.size() < head.length) {
    return std::nullopt;
  }
  head.times.shown = TimeAt(payload.subspan(kPesHeadBytes));
  head.times.decoded = times == 3 ? TimeAt(payload.subspan(kPesHeadBytes + 5)) : head.times.shown;
  if (const std::int64_t told = payload[4] << 8 | payload[5]; told > 0) {
    constexpr std::int64_t kNotCounted = 6;
    head.bytes = told + kNotCounted - static_cast<std::int64_t>(head.length);
  }
  return head;
}

/// One elementary stream.
class PesTrack {
 public:
  PesTrack(const AVStream& stream, PictureTimes* pictures, SoundTimes* sound)
      : stream_(stream), pictures_(pictures), sound_(sound) {}

  /// False where something is strange, as everywhere below.
  bool Take(Packet packet) {
    const auto payload = PayloadOf(packet);
    if (!payload || !Follows(packet[3] & 0xf, !payload->empty()) || (packet[3] & 0xc0) != 0) {
      return false;
    }
    const bool begins = (packet[1] & 0x40) != 0;
    if (!begins) {
      return !head_ || Add(*payload);
    }
    if (!End()) {
      return false;
    }
    head_ = HeadOf(*payload);
    // Only pictures may be of any length (2.4.3.7).
    return head_ && IsNear(*head_) && (pictures_ != nullptr || head_->bytes) &&
           Add(payload->subspan(head_->length));
  }

  /// No more belongs to the packet at hand.
  bool End() {
    if (!head_) {
      return true;
    }
    PacketTime times = head_->times;
    times.bytes = std::exchange(bytes_, 0);
    if (head_->bytes && *head_->bytes != times.bytes) {
      return false;
    }
    if (pictures_ != nullptr) {
      pictures_->Add(times);
      return true;
    }
    return AddSound(times);
  }

  double last_s() const { return static_cast<double>(last_) / kTicksPerSecond; }

 private:
  /// The counter goes on with every packet that carries something.
  bool Follows(int counter, bool carries) {
    const int due = counter_ < 0 ? counter : (counter_ + (carries ? 1 : 0)) & 0xf;
    counter_ = counter;
    return counter == due;
  }

  bool IsNear(const PesHead& head) {
    last_ = *head.times.shown;
    first_ = first_.value_or(*head.times.decoded);
    return *first_ < kLatestFirst && *head.times.decoded >= *first_ - kMostBack &&
           *head.times.shown >= *first_ - kMostBack;
  }

  bool Add(Packet part) {
    bytes_ += static_cast<std::int64_t>(part.size());
    if (sound_ != nullptr) {
      blocks_.insert(blocks_.end(), part.begin(), part.end());
    }
    return !head_->bytes || bytes_ <= *head_->bytes;
  }

  bool AddSound(const PacketTime& times) {
    SoundRun run = SoundOf(stream_, times, /*ticks=*/0);
    run.packets = AdtsBlocks(blocks_);
    run.step_s = run.carried_s;
    blocks_.clear();
    sound_->Add(run);
    return run.packets > 0 && run.counted;
  }

  const AVStream& stream_;
  PictureTimes* const pictures_;
  SoundTimes* const sound_;  // of the two, one is there
  std::optional<PesHead> head_;
  std::int64_t bytes_ = 0;            // of the packet at hand
  std::vector<std::uint8_t> blocks_;  // of sound in it
  int counter_ = -1;
  std::optional<std::int64_t> first_;
  std::int64_t last_ = 0;
};

/// A table that says the same each time it comes.
class SameTable {
 public:
  bool Take(Packet packet) {
    const auto payload = PayloadOf(packet);
    if (!payload || (packet[3] & 0xc0) != 0) {
      return false;
    }
    if (first_.empty()) {
      first_.assign(payload->begin(), payload->end());
    }
    return payload->empty() ||
           std::equal(first_.begin(), first_.end(), payload->begin(), payload->end());
  }

 private:
  std::vector<std::uint8_t> first_;
};

class TransportReader {
 public:
  TransportReader(const AVFormatContext& input, RecordingSums& sums) {
    role_.fill(kNone);
    AddTable(0);
    for (unsigned i = 0; i < input.nb_programs; ++i) {
      AddTable(input.programs[i]->pmt_pid);
    }
    for (unsigned i = 0; i < input.nb_streams; ++i) {
      AddTrack(*input.streams[i], sums.Pictures(i), sums.Sound(i));
    }
  }

  /// Whether all tracks are of forms that are read here.
  bool ready() const { return ready_; }

  bool Take(Packet packet) {
    if (packet[0] != kSync || (packet[1] & 0x80) != 0) {
      return false;
    }
    const std::int16_t role = role_[(packet[1] & 0x1fU) << 8 | packet[2]];
    if (role == kNone) {
      return true;
    }
    return role < kFirstTrack ? tables_[static_cast<std::size_t>(role)].Take(packet)
                              : tracks_[static_cast<std::size_t>(role - kFirstTrack)].Take(packet);
  }

  bool End() {
    return std::all_of(tracks_.begin(), tracks_.end(), [](PesTrack& track) { return track.End(); });
  }

  double last_s() const { return tracks_.empty() ? 0 : tracks_.front().last_s(); }

 private:
  static constexpr std::int16_t kNone = -1;
  static constexpr std::int16_t kFirstTrack = 1 << 13;  // below it: tables

  void AddTable(int pid) {
    if (pid < 0 || pid >= static_cast<int>(kPids) ||
        role_[static_cast<std::size_t>(pid)] != kNone) {
      return;
    }
    role_[static_cast<std::size_t>(pid)] = static_cast<std::int16_t>(tables_.size());
    tables_.emplace_back();
  }

  void AddTrack(const AVStream& stream, PictureTimes* pictures, SoundTimes* sound) {
    if (pictures == nullptr && sound == nullptr) {
      return;
    }
    const AVCodecID codec = stream.codecpar->codec_id;
    const bool known = pictures != nullptr
                           ? codec == AV_CODEC_ID_H264 || codec == AV_CODEC_ID_HEVC ||
                                 codec == AV_CODEC_ID_MPEG2VIDEO
                           : codec == AV_CODEC_ID_AAC;
    const bool placed = stream.id > 0 && stream.id < static_cast<int>(kPids) &&
                        role_[static_cast<std::size_t>(stream.id)] == kNone;
    if (!known || !placed ||
        av_cmp_q(stream.time_base, {1, static_cast<int>(kTicksPerSecond)}) != 0) {
      ready_ = false;
      return;
    }
    role_[static_cast<std::size_t>(stream.id)] =
        static_cast<std::int16_t>(kFirstTrack + tracks_.size());
    tracks_.emplace_back(stream, pictures, sound);
  }

  bool ready_ = true;
  std::array<std::int16_t, kPids> role_{};
  std::vector<SameTable> tables_;
  std::vector<PesTrack> tracks_;
};

}  // namespace

bool TakePesPackets(ByteSource& source, const AVFormatContext& input, RecordingSums& sums,
                    const std::stop_token& stop, const ReadProgress& progress,
                    Recording& recording) {
  TransportReader reader(input, sums);
  ForwardBytes bytes(source);
  if (!reader.ready() || bytes.size() % static_cast<std::int64_t>(kPacketBytes) != 0) {
    return false;
  }
  for (std::int64_t at = 0; at < bytes.size();) {
    Packet window = bytes.At(at, kPacketBytes);
    if (window.size() < kPacketBytes) {
      return false;
    }
    for (; window.size() >= kPacketBytes; window = window.subspan(kPacketBytes)) {
      if (!reader.Take(window.first(kPacketBytes))) {
        return false;
      }
      at += kPacketBytes;
    }
    progress(reader.last_s(), at);
    if (stop.stop_requested()) {
      TellStopped(recording);
      return true;
    }
  }
  if (!reader.End()) {
    return false;
  }
  TellComplaint(recording);
  return true;
}

}  // namespace probes
