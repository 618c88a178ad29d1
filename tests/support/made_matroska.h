// SPDX-License-Identifier: Apache-2.0
//
// Matroska files made element by element (RFC 8794, RFC 9559), right and wrong ones.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace tests {

inline std::string Bytes(std::uint64_t value, int bytes) {
  std::string text;
  for (int i = bytes - 1; i >= 0; --i) {
    text += static_cast<char>(value >> (8 * i) & 255);
  }
  return text;
}

/// An ID as standards write it, without its leading zero bytes.
inline std::string Id(std::uint32_t id) {
  return Bytes(id, id > 0xffffff ? 4 : id > 0xffff ? 3 : id > 0xff ? 2 : 1);
}

/// Sizes of 8 bytes, as writers leave room for.
inline std::string Element(std::uint32_t id, const std::string& content) {
  return Id(id) + Bytes(content.size() | std::uint64_t{1} << 56, 8) + content;
}

inline std::string OpenElement(std::uint32_t id, const std::string& content) {
  return Id(id) + "\x01" + std::string(7, '\xff') + content;
}

inline std::string Uint(std::uint32_t id, std::uint64_t value) {
  return Element(id, Bytes(value, value > 0xffffffff ? 8 : 4));
}

inline std::string BlockBody(int track, int within, int flags, const std::string& content) {
  return Bytes(static_cast<std::uint64_t>(track) | 0x80, 1) +
         Bytes(static_cast<std::uint64_t>(within) & 0xffff, 2) +
         Bytes(static_cast<std::uint64_t>(flags), 1) + content;
}

inline std::string SimpleBlock(int track, int within, std::size_t bytes = 50) {
  return Element(0xA3, BlockBody(track, within, 0x80, std::string(bytes, 'p')));
}

inline std::string EbmlHeader(const std::string& type = "matroska", std::uint64_t version = 4) {
  return Element(0x1A45DFA3,
                 Uint(0x42F2, 4) + Uint(0x42F3, 8) + Element(0x4282, type) + Uint(0x4285, version));
}

inline std::string TrackEntry(int number, int type, const std::string& codec,
                              const std::string& more = "") {
  return Element(0xAE, Uint(0xD7, static_cast<std::uint64_t>(number)) +
                           Uint(0x83, static_cast<std::uint64_t>(type)) + Element(0x86, codec) +
                           more);
}

/// Pictures at 25 a second (track 1) and sound (track 2), in ticks of a millisecond.
inline std::string Tracks() {
  return Element(0x1549A966, Uint(0x2AD7B1, 1'000'000)) +
         Element(0x1654AE6B, TrackEntry(1, 1, "V_MPEG4/ISO/AVC", Uint(0x23E383, 40'000'000)) +
                                 TrackEntry(2, 2, "A_OPUS", Uint(0x56AA, 6'500'000)));
}

/// `blocks` pictures and as many blocks of sound from `ticks` on.
inline std::string ClusterContent(int ticks, int blocks) {
  std::string content = Uint(0xE7, static_cast<std::uint64_t>(ticks));
  for (int i = 0; i < blocks; ++i) {
    content += SimpleBlock(1, 40 * i) + SimpleBlock(2, 40 * i, 20);
  }
  return content;
}

inline std::string Matroska(const std::vector<std::string>& clusters) {
  std::string content = Tracks();
  for (const std::string& cluster : clusters) {
    content += cluster;
  }
  return EbmlHeader() + Element(0x18538067, content);
}

}  // namespace tests
