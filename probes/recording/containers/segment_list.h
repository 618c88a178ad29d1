// SPDX-License-Identifier: Apache-2.0
//
// Lists of files that follow each other: HLS playlists (RFC 8216) and FFmpeg's concat lists.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace probes {

struct ListedFile {
  std::string name;       // as it is written there
  std::string beginning;  // file with what it needs to be read; empty: none
  bool restarts = false;  // its times follow no file before it (RFC 8216, 4.3.2.3)

  bool operator==(const ListedFile&) const = default;
};

struct SegmentList {
  std::vector<ListedFile> files;
  std::optional<double> started_unix_s;  // of the first file
  bool closed = true;                    // nothing will be added to it
};

/// Whether text begins as a list does.
bool LooksLikeSegmentList(std::string_view text);

/// kMalformed for a list that names no files, kUnsupported for what is not followed: URLs, parts of
/// files, encrypted files, lists of lists.
base::Result<SegmentList> ParseSegmentList(std::string_view text);

/// "2026-11-25T18:14:56.5Z", also with "+01:00" for Z: UTC seconds since 1970. Nothing for other
/// text, nor without a zone.
std::optional<double> ParseIsoTime(std::string_view text);

}  // namespace probes
