// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/matroska/head.h"

#include <algorithm>
#include <functional>

#include "probes/recording/matroska/ebml_element.h"
#include "probes/recording/matroska/ids.h"

namespace probes {
namespace {

constexpr int kMostChildren = 10'000;
constexpr std::size_t kMostTracksKept = 256;
constexpr std::uint64_t kMostVersion = 4;  // of documents that RFC 9559 describes
constexpr std::uint64_t kMostNanos = 1'000'000'000'000'000;

/// False where what it has is no row of elements up to its end, or one is not taken.
bool EachChild(ForwardBytes& bytes, std::int64_t at, std::int64_t end,
               const std::function<bool(const EbmlElement&)>& take) {
  for (int i = 0; at < end; ++i) {
    const auto child = ReadEbmlElement(bytes.At(at, kMostEbmlHead), at);
    if (i >= kMostChildren || !child || child->open_ended || child->end() > end || !take(*child)) {
      return false;
    }
    at = child->end();
  }
  return true;
}

std::span<const std::uint8_t> ContentOf(ForwardBytes& bytes, const EbmlElement& element) {
  const auto wanted =
      static_cast<std::size_t>(std::min<std::int64_t>(element.bytes, ForwardBytes::kMostAtOnce));
  const auto content = bytes.At(element.begin, wanted);
  return content.first(std::min(wanted, content.size()));
}

std::uint64_t NumberOf(ForwardBytes& bytes, const EbmlElement& element) {
  return ReadEbmlUnsigned(ContentOf(bytes, element));
}

std::int64_t NanosOf(ForwardBytes& bytes, const EbmlElement& element) {
  return static_cast<std::int64_t>(std::min(NumberOf(bytes, element), kMostNanos));
}

/// Without the zero bytes that may stand behind it (RFC 8794, 7.4).
std::string TextOf(ForwardBytes& bytes, const EbmlElement& element) {
  const auto content = ContentOf(bytes, element);
  return {content.begin(), std::find(content.begin(), content.end(), 0)};
}

/// TrackTimestampScale (deprecated) of any other value than 1, as a float of 4 or 8 bytes.
bool OtherScale(ForwardBytes& bytes, const EbmlElement& element) {
  const std::uint64_t value = NumberOf(bytes, element);
  return !(element.bytes == 0 || (element.bytes == 4 && value == 0x3f800000) ||
           (element.bytes == 8 && value == 0x3ff0000000000000));
}

MatroskaTrack ReadTrack(ForwardBytes& bytes, const EbmlElement& entry) {
  MatroskaTrack track;
  const bool whole = EachChild(bytes, entry.begin, entry.end(), [&](const EbmlElement& child) {
    switch (child.id) {
      case matroska::kTrackNumber:
        track.number = NumberOf(bytes, child);
        break;
      case matroska::kTrackType:
        track.type = NumberOf(bytes, child);
        break;
      case matroska::kCodecId:
        track.codec = TextOf(bytes, child);
        break;
      case matroska::kDefaultDuration:
        track.frame_ns = NanosOf(bytes, child);
        break;
      case matroska::kCodecDelay:
        track.delay_ns = NanosOf(bytes, child);
        break;
      case matroska::kContentEncodings:
        track.plain = false;
        break;
      case matroska::kTrackTimestampScale:
        track.plain = track.plain && !OtherScale(bytes, child);
        break;
      default:
        break;
    }
    return true;
  });
  track.plain = track.plain && whole;
  return track;
}

/// Whether the document is of a form that RFC 9559 describes.
bool ReadEbmlHead(ForwardBytes& bytes, const EbmlElement& head) {
  bool named = false;
  bool within = true;
  const bool whole = EachChild(bytes, head.begin, head.end(), [&](const EbmlElement& child) {
    if (child.id == matroska::kDocType) {
      const std::string type = TextOf(bytes, child);
      named = type == "matroska" || type == "webm";
    } else if (child.id == matroska::kEbmlMaxIdLength) {
      within = within && NumberOf(bytes, child) <= 4;
    } else if (child.id == matroska::kEbmlMaxSizeLength) {
      within = within && NumberOf(bytes, child) <= 8;
    } else if (child.id == matroska::kDocTypeReadVersion) {
      within = within && NumberOf(bytes, child) <= kMostVersion;
    }
    return true;
  });
  return whole && named && within;
}

base::Error NoMatroska() {
  return {base::ErrorKind::kUnsupported, "", "no plain Matroska file"};
}

/// One element of the segment before its first cluster. False where it is not understood.
bool TakeTop(ForwardBytes& bytes, const EbmlElement& element, MatroskaHead& head) {
  if (element.open_ended) {
    return false;
  }
  if (element.id == matroska::kInfo) {
    return EachChild(bytes, element.begin, element.end(), [&](const EbmlElement& child) {
      if (child.id == matroska::kTimestampScale) {
        head.tick_ns = NanosOf(bytes, child);
      }
      return true;
    });
  }
  if (element.id != matroska::kTracks) {
    return true;
  }
  return EachChild(bytes, element.begin, element.end(), [&](const EbmlElement& child) {
    if (child.id != matroska::kTrackEntry) {
      return true;
    }
    if (head.tracks.size() >= kMostTracksKept) {
      return false;
    }
    head.tracks.push_back(ReadTrack(bytes, child));
    return true;
  });
}

}  // namespace

base::Result<MatroskaHead> ReadMatroskaHead(ForwardBytes& bytes, std::int64_t at) {
  const auto ebml = ReadEbmlElement(bytes.At(at, kMostEbmlHead), at);
  if (!ebml || ebml->id != matroska::kEbml || ebml->open_ended || !ReadEbmlHead(bytes, *ebml)) {
    return NoMatroska();
  }
  at = ebml->end();
  auto element = ReadEbmlElement(bytes.At(at, kMostEbmlHead), at);
  if (element && (element->id == matroska::kVoid || element->id == matroska::kCrc32)) {
    at = element->end();
    element = ReadEbmlElement(bytes.At(at, kMostEbmlHead), at);
  }
  if (!element || element->id != matroska::kSegment) {
    return NoMatroska();
  }
  MatroskaHead head;
  head.segment_end = element->open_ended ? MatroskaHead::kOpen : element->end();
  head.content_at = bytes.size();
  at = element->begin;
  for (int i = 0; at < std::min(head.segment_end, bytes.size()); ++i) {
    element = ReadEbmlElement(bytes.At(at, kMostEbmlHead), at);
    if (element && element->id == matroska::kCluster) {
      head.content_at = at;
      break;
    }
    if (i >= kMostChildren || !element || !TakeTop(bytes, *element, head)) {
      return NoMatroska();
    }
    at = element->end();
  }
  if (head.tracks.empty() || head.tick_ns <= 0) {
    return NoMatroska();
  }
  return head;
}

}  // namespace probes
