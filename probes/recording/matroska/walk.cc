// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/matroska/walk.h"

#include <algorithm>

#include "probes/recording/matroska/ebml_element.h"
#include "probes/recording/matroska/ids.h"
#include "probes/recording/matroska/level.h"
#include "probes/recording/times/packet_time.h"

namespace probes {
namespace {

constexpr std::int64_t kBytesPerTelling = 4 << 20;
/// The head of an element, of a block in it, and the first bytes of its content.
constexpr std::size_t kLookBytes = 32;
constexpr std::int64_t kMostFrames = 256;  // of one block
constexpr std::int64_t kMostBlockTicks = kMostTicks / kMostFrames;
constexpr std::int64_t kMostForeignBytes = 64 << 10;
constexpr std::size_t kSearchBytes = ForwardBytes::kMostAtOnce;

std::int64_t InTicks(std::int64_t nanos, std::int64_t tick_ns) {
  return (nanos + tick_ns / 2) / tick_ns;
}

class Walk {
 public:
  Walk(ForwardBytes& bytes, const MatroskaHead& head, const std::stop_token& stop,
       const std::function<void(const MatroskaBlock&)>& take,
       const std::function<void(std::int64_t)>& reached)
      : bytes_(bytes),
        head_(head),
        stop_(stop),
        take_(take),
        reached_(reached),
        at_(head.content_at),
        tell_at_(at_ + kBytesPerTelling) {
    ends_.fill(MatroskaHead::kOpen);
    ends_[kSegment] = head.segment_end;
  }

  MatroskaEnd Run() {
    while (at_ < bytes_.size() && end_.other_document < 0 && GoesOn(at_)) {
      Step();
    }
    if (end_.stopped) {
      return end_;
    }
    LeaveFinished();
    end_.cut = end_.cut || (level_ >= kCluster && ends_[level_] != MatroskaHead::kOpen);
    if (level_ == kGroup) {
      EndGroup();
    }
    end_.failed = bytes_.failed();
    return end_;
  }

 private:
  /// Tells how far the reading is. False where it is asked to stop.
  bool GoesOn(std::int64_t at) {
    if (at >= tell_at_) {
      reached_(at);
      tell_at_ = at + kBytesPerTelling;
    }
    end_.stopped = stop_.stop_requested();
    return !end_.stopped;
  }

  void LeaveFinished() {
    while (level_ > kDocument && at_ >= ends_[level_]) {
      Leave();
    }
  }

  void Leave() {
    if (level_ == kGroup) {
      EndGroup();
    }
    level_ = static_cast<MatroskaLevel>(level_ - 1);
  }

  void Enter(const EbmlElement& element, MatroskaLevel level) {
    level_ = level;
    ends_[level] = element.open_ended ? ends_[level - 1] : element.end();
    at_ = element.begin;
  }

  void Step() {
    LeaveFinished();
    const auto look = bytes_.At(at_, kLookBytes);
    const auto element = ReadEbmlElement(look, at_);
    if (!element) {
      Lose(look.size() < kMostEbmlHead);
      return;
    }
    // What belongs further up ends a cluster, and a segment, whose size is not told.
    if (level_ == kCluster && IsTopOfSegment(element->id)) {
      Leave();
    }
    if (level_ >= kSegment && level_ <= kCluster && element->id == matroska::kEbml) {
      level_ = kDocument;
    }
    const bool may_be_open = element->id == matroska::kCluster;
    const bool fits =
        element->open_ended ? may_be_open : element->end() <= ends_[level_] || level_ == kDocument;
    const bool belongs = Belongs(element->id, level_);
    if (!fits || !(belongs || IsForeign(*element))) {
      Lose(false);
    } else if (element->end() > bytes_.size() && !IsEntered(element->id)) {
      Lose(true);
    } else if (belongs) {
      Take(*element, look.subspan(static_cast<std::size_t>(element->begin - at_)));
    } else {
      at_ = element->end();
    }
  }

  static bool IsEntered(std::uint32_t id) {
    return id == matroska::kEbml || id == matroska::kCluster || id == matroska::kBlockGroup;
  }

  /// Elements that this standard does not know are passed over (RFC 8794, 6.1), but only where
  /// something that it knows follows: damage looks like them.
  bool IsForeign(const EbmlElement& element) {
    if (IsKnown(element.id) || level_ == kDocument || element.open_ended ||
        element.bytes > kMostForeignBytes) {
      return false;
    }
    if (element.end() == ends_[level_] || element.end() >= bytes_.size()) {
      return true;
    }
    const auto next = ReadEbmlElement(bytes_.At(element.end(), kMostEbmlHead), element.end());
    return next && (Belongs(next->id, level_) || (level_ == kCluster && IsTopOfSegment(next->id)));
  }

  void Take(const EbmlElement& element, std::span<const std::uint8_t> content) {
    const auto size = static_cast<std::size_t>(element.bytes);
    switch (element.id) {
      case matroska::kEbml:
        BeginDocument();
        return;
      case matroska::kCluster:
        Enter(element, kCluster);
        cluster_ticks_.reset();
        return;
      case matroska::kBlockGroup:
        Enter(element, kGroup);
        return;
      case matroska::kTimestamp:
        TakeTimestamp(ReadEbmlUnsigned(content.first(std::min(size, content.size()))));
        break;
      case matroska::kSimpleBlock:
      case matroska::kBlock:
        if (const auto block = ReadBlock(element, content); !block) {
          Lose(false);
          return;
        } else if (level_ == kGroup) {
          group_ = block;
        } else {
          Give(*block);
        }
        break;
      case matroska::kBlockDuration:
        if (const auto ticks = ReadEbmlUnsigned(content.first(std::min(size, content.size())));
            group_ && ticks <= kMostBlockTicks) {
          group_->duration = static_cast<std::int64_t>(ticks);
        }
        break;
      default:
        break;
    }
    at_ = element.end();
  }

  void TakeTimestamp(std::uint64_t ticks) {
    cluster_ticks_ =
        ticks <= kMostTicks ? std::optional(static_cast<std::int64_t>(ticks)) : std::nullopt;
  }

  /// The head of a block (RFC 9559, 10): track, time within the cluster, flags, number of frames.
  std::optional<MatroskaBlock> ReadBlock(const EbmlElement& element,
                                         std::span<const std::uint8_t> content) {
    content = content.first(std::min(content.size(), static_cast<std::size_t>(element.bytes)));
    const auto number = ReadEbmlNumber(content);
    if (!number || content.size() < number->length + 3) {
      return std::nullopt;
    }
    const auto fields = content.subspan(number->length);
    const bool laced = (fields[2] & 6) != 0;
    if (laced && fields.size() < 4) {
      return std::nullopt;
    }
    MatroskaBlock block;
    block.track = TrackOf(number->value);
    const auto within = static_cast<std::int16_t>(fields[0] << 8 | fields[1]);
    if (cluster_ticks_ && *cluster_ticks_ + within >= 0 && block.track < head_.tracks.size()) {
      block.at =
          *cluster_ticks_ + within - InTicks(head_.tracks[block.track].delay_ns, head_.tick_ns);
    }
    const std::size_t taken = laced ? 4 : 3;
    block.frames = laced ? fields[3] + 1 : 1;
    block.bytes = element.bytes - static_cast<std::int64_t>(number->length + taken);
    block.ends_at = element.end();
    if (!laced) {
      const auto begin = fields.subspan(taken);
      std::copy_n(begin.begin(), std::min(begin.size(), block.first.size()), block.first.begin());
    }
    return block;
  }

  std::size_t TrackOf(std::uint64_t number) const {
    for (std::size_t i = 0; i < head_.tracks.size(); ++i) {
      if (head_.tracks[i].number == number) {
        return i;
      }
    }
    return head_.tracks.size();
  }

  void Give(const MatroskaBlock& block) {
    if (block.track < head_.tracks.size()) {
      take_(block);
    } else {
      ++end_.strange_blocks;
    }
  }

  void EndGroup() {
    if (group_) {
      Give(*group_);
      group_.reset();
    }
  }

  /// Files that were written one behind the other, each a document of its own.
  void BeginDocument() {
    const auto next = ReadMatroskaHead(bytes_, at_);
    if (!next || next->tracks != head_.tracks || next->tick_ns != head_.tick_ns) {
      end_.other_document = at_;
      return;
    }
    level_ = kSegment;
    ends_[kSegment] = next->segment_end;
    at_ = next->content_at;
  }

  /// Nothing that belongs here begins here: goes on at the next cluster. `ends`: it may only be
  /// that the file ends.
  void Lose(bool ends) {
    const std::int64_t from = at_;
    const bool in_cluster = level_ >= kCluster;
    const bool past_end = ends_[kCluster] > bytes_.size() && ends_[kCluster] != MatroskaHead::kOpen;
    EndGroup();
    at_ = FindNext(from);
    if (end_.stopped) {
      return;
    }
    level_ = kSegment;
    ends_[kSegment] = MatroskaHead::kOpen;  // what said where it ends may be damaged too
    const bool to_end = at_ >= bytes_.size();
    // Zeros up to the end are room that was reserved, or that a fall of power left.
    end_.cut = to_end && in_cluster && (ends || past_end || only_zeros_);
    if (at_ == from || (ends && to_end)) {
      return;
    }
    end_.damaged_at = end_.damaged_at < 0 ? from : end_.damaged_at;
    end_.lost_to_end = to_end;
    ++end_.damaged_places;
    end_.lost_bytes += at_ - from;
  }

  /// The next place where a cluster, or a document, begins; or the end; or where it is asked to
  /// stop.
  std::int64_t FindNext(std::int64_t at) {
    only_zeros_ = true;
    while (at < bytes_.size() && GoesOn(at)) {
      const auto look = bytes_.At(at, kSearchBytes);
      const bool zeros = std::all_of(look.begin(), look.end(), [](auto byte) { return byte == 0; });
      only_zeros_ = only_zeros_ && zeros;
      if (look.size() < 4) {
        return bytes_.size();
      }
      const auto i = zeros ? look.size() : FirstStart(look);
      const bool found = i + 4 <= look.size();
      at += static_cast<std::int64_t>(i);
      if (found && Begins(at)) {
        return at;
      }
      at += found ? 1 : 0;
    }
    return at;
  }

  /// Where the ID of a cluster or document stands; else where only a part of one may.
  static std::size_t FirstStart(std::span<const std::uint8_t> look) {
    std::size_t i = 0;
    for (; i + 4 <= look.size(); ++i) {
      if ((look[i] == 0x1F || look[i] == 0x1A) && IsStart(look.subspan(i, 4))) {
        break;
      }
    }
    return i;
  }

  static bool IsStart(std::span<const std::uint8_t> four) {
    const std::uint64_t id = ReadEbmlUnsigned(four);
    return id == matroska::kCluster || id == matroska::kEbml;
  }

  /// Four bytes turn up by chance too: something that belongs inside must follow them.
  bool Begins(std::int64_t at) {
    const auto element = ReadEbmlElement(bytes_.At(at, kMostEbmlHead), at);
    if (!element || (element->open_ended && element->id == matroska::kEbml)) {
      return false;
    }
    const auto child = ReadEbmlElement(bytes_.At(element->begin, kMostEbmlHead), element->begin);
    const bool fits =
        child && !child->open_ended && (element->open_ended || child->end() <= element->end());
    // All that stands in an EBML header begins with the same byte.
    return fits && (element->id == matroska::kEbml ? child->id >> 8 == matroska::kDocType >> 8
                                                   : Belongs(child->id, kCluster));
  }

  ForwardBytes& bytes_;
  const MatroskaHead& head_;
  const std::stop_token& stop_;
  const std::function<void(const MatroskaBlock&)>& take_;
  const std::function<void(std::int64_t)>& reached_;
  std::int64_t at_;
  std::int64_t tell_at_;
  bool only_zeros_ = false;  // between where the last search began and where it ended
  MatroskaLevel level_ = kSegment;
  std::array<std::int64_t, 4> ends_{};  // of what is entered, at each level
  std::optional<std::int64_t> cluster_ticks_;
  std::optional<MatroskaBlock> group_;  // the block of the group at hand
  MatroskaEnd end_;
};

}  // namespace

std::int64_t TicksOf(const MatroskaBlock& block, const MatroskaHead& head) {
  const std::int64_t frame_ns = head.tracks[block.track].frame_ns;
  return std::min(block.duration.value_or(frame_ns * block.frames / head.tick_ns), kMostBlockTicks);
}

MatroskaEnd WalkMatroska(ForwardBytes& bytes, const MatroskaHead& head, const std::stop_token& stop,
                         const std::function<void(const MatroskaBlock& block)>& take,
                         const std::function<void(std::int64_t at)>& reached) {
  return Walk(bytes, head, stop, take, reached).Run();
}

}  // namespace probes
