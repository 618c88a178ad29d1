// SPDX-License-Identifier: Apache-2.0
//
// MP4 files made box by box (ISO/IEC 14496-12), right and wrong ones.

#pragma once

#include <cstdint>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace tests {

inline std::string Big(std::uint64_t value, int bytes) {
  std::string text;
  for (int i = bytes - 1; i >= 0; --i) {
    text += static_cast<char>(value >> (8 * i) & 255);
  }
  return text;
}

inline std::string Box(std::string_view type, const std::string& content) {
  return Big(content.size() + 8, 4) + std::string(type) + content;
}

/// Version and flags, then 32-bit numbers.
inline std::string Numbers(std::initializer_list<std::uint32_t> numbers, std::uint32_t flags = 0) {
  std::string text = Big(flags, 4);
  for (const std::uint32_t number : numbers) {
    text += Big(number, 4);
  }
  return text;
}

/// One track of pictures at 25 a second, 1000 ticks a second.
struct MadeTrack {
  std::string stts = Numbers({1, 10, 40});
  std::string ctts;  // left out when empty
  std::string stsz = Numbers({100, 10});
  std::string stsc = Numbers({1, 1, 10, 1});
  std::string stco = Numbers({1, 0});
  std::string elst;  // left out when empty
  std::string handler = "vide";
  std::string entry = "avc1";
};

inline std::string TrackBox(const MadeTrack& track, std::uint32_t id) {
  std::string stbl = Box("stsd", Numbers({1}) + Box(track.entry, std::string(78, '\0'))) +
                     Box("stts", track.stts) + Box("stsz", track.stsz) + Box("stsc", track.stsc) +
                     Box("stco", track.stco);
  if (!track.ctts.empty()) {
    stbl += Box("ctts", track.ctts);
  }
  const std::string mdia = Box("mdhd", Numbers({0, 0, 1000, 0, 0})) +
                           Box("hdlr", Numbers({0}) + track.handler + std::string(13, '\0')) +
                           Box("minf", Box("stbl", stbl));
  const std::string edits = track.elst.empty() ? "" : Box("edts", Box("elst", track.elst));
  return Box("trak", Box("tkhd", Numbers({0, 0, id, 0})) + edits + Box("mdia", mdia));
}

/// The movie with its header (600 ticks a second, made 2026-11-25 17:00:00 UTC) and 2000 bytes of
/// content before it.
inline std::string Movie(const std::vector<MadeTrack>& tracks, const std::string& more = "") {
  std::string moov = Box("mvhd", Numbers({1'795'626'000U + 2'082'844'800U, 0, 600, 0}));
  std::uint32_t id = 1;
  for (const MadeTrack& track : tracks) {
    moov += TrackBox(track, id++);
  }
  return Box("ftyp", "isom") + Box("mdat", std::string(2000, 'x')) + Box("moov", moov + more);
}

}  // namespace tests
