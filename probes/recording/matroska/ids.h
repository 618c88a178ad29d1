// SPDX-License-Identifier: Apache-2.0
//
// IDs of elements: RFC 8794 (11.2, 11.3) and RFC 9559 (5.1).

#pragma once

#include <cstdint>

namespace probes::matroska {

enum Id : std::uint32_t {
  kEbml = 0x1A45DFA3,
  kEbmlMaxIdLength = 0x42F2,
  kEbmlMaxSizeLength = 0x42F3,
  kDocType = 0x4282,
  kDocTypeReadVersion = 0x4285,
  kVoid = 0xEC,
  kCrc32 = 0xBF,

  kSegment = 0x18538067,
  kSeekHead = 0x114D9B74,
  kInfo = 0x1549A966,
  kTimestampScale = 0x2AD7B1,
  kTracks = 0x1654AE6B,
  kCues = 0x1C53BB6B,
  kAttachments = 0x1941A469,
  kChapters = 0x1043A770,
  kTags = 0x1254C367,

  kTrackEntry = 0xAE,
  kTrackNumber = 0xD7,
  kTrackType = 0x83,
  kCodecId = 0x86,
  kDefaultDuration = 0x23E383,
  kTrackTimestampScale = 0x23314F,
  kCodecDelay = 0x56AA,
  kContentEncodings = 0x6D80,

  kCluster = 0x1F43B675,
  kTimestamp = 0xE7,
  kSilentTracks = 0x5854,
  kPosition = 0xA7,
  kPrevSize = 0xAB,
  kSimpleBlock = 0xA3,
  kEncryptedBlock = 0xAF,

  kBlockGroup = 0xA0,
  kBlock = 0xA1,
  kBlockVirtual = 0xA2,
  kBlockAdditions = 0x75A1,
  kBlockDuration = 0x9B,
  kReferencePriority = 0xFA,
  kReferenceBlock = 0xFB,
  kReferenceVirtual = 0xFD,
  kCodecState = 0xA4,
  kDiscardPadding = 0x75A2,
  kSlices = 0x8E,
  kReferenceFrame = 0xC8,
};

/// TrackType (5.1.4.1.3).
enum TrackType : std::uint64_t { kVideo = 1, kAudio = 2, kSubtitle = 17, kMetadata = 33 };

}  // namespace probes::matroska
