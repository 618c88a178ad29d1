// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/matroska/level.h"

#include "probes/recording/matroska/ids.h"

namespace probes {
namespace {

bool InCluster(std::uint32_t id) {
  switch (id) {
    case matroska::kTimestamp:
    case matroska::kSilentTracks:
    case matroska::kPosition:
    case matroska::kPrevSize:
    case matroska::kSimpleBlock:
    case matroska::kBlockGroup:
    case matroska::kEncryptedBlock:
      return true;
    default:
      return false;
  }
}

bool InGroup(std::uint32_t id) {
  switch (id) {
    case matroska::kBlock:
    case matroska::kBlockVirtual:
    case matroska::kBlockAdditions:
    case matroska::kBlockDuration:
    case matroska::kReferencePriority:
    case matroska::kReferenceBlock:
    case matroska::kReferenceVirtual:
    case matroska::kCodecState:
    case matroska::kDiscardPadding:
    case matroska::kSlices:
    case matroska::kReferenceFrame:
      return true;
    default:
      return false;
  }
}

}  // namespace

bool IsTopOfSegment(std::uint32_t id) {
  switch (id) {
    case matroska::kSeekHead:
    case matroska::kInfo:
    case matroska::kTracks:
    case matroska::kCues:
    case matroska::kAttachments:
    case matroska::kChapters:
    case matroska::kTags:
    case matroska::kCluster:
      return true;
    default:
      return false;
  }
}

bool IsKnown(std::uint32_t id) {
  return IsTopOfSegment(id) || InCluster(id) || InGroup(id);
}

bool Belongs(std::uint32_t id, MatroskaLevel level) {
  if (id == matroska::kVoid || id == matroska::kCrc32) {
    return true;
  }
  switch (level) {
    case kDocument:
      return id == matroska::kEbml;
    case kSegment:
      return IsTopOfSegment(id);
    case kCluster:
      return InCluster(id);
    default:
      return InGroup(id);
  }
}

}  // namespace probes
