// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/containers/unfinished.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include <fmt/format.h>

namespace probes {
namespace {

Unfinished NotClosed() {
  return {FileEnd::kOpen, "was not closed by its writer: its end may be gone"};
}

Unfinished Cut() {
  return {FileEnd::kCut, "ends before the length that its header gives: it was cut short"};
}

/// Bytes of the file from a place on; zero past its end.
class Bytes {
 public:
  explicit Bytes(ByteSource& source) : source_(source) {}

  std::uint64_t Little(std::int64_t at, std::size_t count) {
    std::array<std::uint8_t, 8> bytes{};
    source_.ReadAt(at, std::span(bytes).first(count));
    std::uint64_t number = 0;
    for (std::size_t i = count; i > 0; --i) {
      number = number << 8U | bytes.at(i - 1);
    }
    return number;
  }

  std::uint64_t Big(std::int64_t at, std::size_t count) {
    std::uint64_t number = 0;
    for (std::size_t i = 0; i < count; ++i) {
      number = number << 8U | Little(at + static_cast<std::int64_t>(i), 1);
    }
    return number;
  }

  bool Is(std::int64_t at, std::string_view letters) {
    std::vector<std::uint8_t> bytes(letters.size());
    return source_.ReadAt(at, bytes) == letters.size() &&
           std::equal(letters.begin(), letters.end(), bytes.begin(),
                      [](char left, std::uint8_t right) {
                        return static_cast<std::uint8_t>(left) == right;
                      });
  }

 private:
  ByteSource& source_;
};

/// The size of the first RIFF chunk and the number of pictures are written when a file is closed.
std::optional<Unfinished> OfAvi(Bytes& bytes, std::int64_t size) {
  constexpr std::int64_t kHead = 8;
  constexpr std::int64_t kPicturesAt = 48;  // of the main header, which stands first
  const auto told = bytes.Little(4, 4);
  const bool main_header = bytes.Is(12, "LIST") && bytes.Is(20, "hdrl") && bytes.Is(24, "avih");
  if (told == 0 || (main_header && bytes.Little(kPicturesAt, 4) == 0)) {
    return NotClosed();
  }
  return static_cast<std::int64_t>(told) > size - kHead ? std::optional(Cut()) : std::nullopt;
}

/// File Properties Object (Advanced Systems Format 01.20.03, 3.2).
std::optional<Unfinished> OfAsf(Bytes& bytes, std::int64_t size) {
  constexpr std::string_view kProperties(
      "\xa1\xdc\xab\x8c\x47\xa9\xcf\x11\x8e\xe4\x00\xc0\x0c\x20\x53\x65", 16);
  constexpr std::int64_t kHeaderHead = 30;
  constexpr std::int64_t kObjectHead = 24;
  constexpr int kMostObjects = 1000;
  std::int64_t at = kHeaderHead;
  for (int i = 0; i < kMostObjects && at < size; ++i) {
    const auto length = bytes.Little(at + 16, 8);
    if (bytes.Is(at, kProperties)) {
      const auto told = static_cast<std::int64_t>(
          std::min<std::uint64_t>(bytes.Little(at + 40, 8), std::uint64_t{1} << 60));
      const bool live = (bytes.Little(at + 88, 4) & 1) != 0;
      if (live) {
        return NotClosed();
      }
      if (told > size) {
        return Cut();
      }
      return told > 0 && told < size
                 ? std::optional(Unfinished{
                       FileEnd::kClosed,
                       fmt::format(
                           "goes on for {} bytes behind the recording that its header tells of",
                           size - told)})
                 : std::nullopt;
    }
    if (length < kObjectHead || length > static_cast<std::uint64_t>(size)) {
      break;
    }
    at += static_cast<std::int64_t>(length);
  }
  return std::nullopt;
}

/// The last page ends with the file, and says that it is the last (RFC 3533, 6).
std::optional<Unfinished> OfOgg(Bytes& bytes, ByteSource& source) {
  constexpr std::int64_t kLongestPage = 27 + 255 + 255 * 255;
  constexpr std::uint8_t kLast = 4;
  const std::int64_t size = source.size();
  const std::int64_t from = std::max<std::int64_t>(0, size - 2 * kLongestPage);
  std::vector<std::uint8_t> tail(static_cast<std::size_t>(size - from));
  tail.resize(source.ReadAt(from, tail));
  constexpr std::string_view kPage = "OggS";
  const auto last = std::find_end(
      tail.begin(), tail.end(), kPage.begin(), kPage.end(),
      [](std::uint8_t left, char right) { return left == static_cast<std::uint8_t>(right); });
  if (last == tail.end()) {
    return Cut();
  }
  const std::int64_t at = from + (last - tail.begin());
  constexpr std::int64_t kHead = 27;
  const auto segments = static_cast<std::int64_t>(bytes.Little(at + kHead - 1, 1));
  std::int64_t length = kHead + segments;
  for (std::int64_t i = 0; i < segments; ++i) {
    length += static_cast<std::int64_t>(bytes.Little(at + kHead + i, 1));
  }
  if (at + length != size) {
    return Unfinished{FileEnd::kCut, "ends inside a page: it was cut short"};
  }
  return (bytes.Little(at + 5, 1) & kLast) == 0 ? std::optional(NotClosed()) : std::nullopt;
}

constexpr std::string_view kNutHead("nut/multimedia container\0", 25);

/// A finished file ends with its index, whose length stands twelve bytes before the end (The NUT
/// Open Container Format, index_ptr).
std::optional<Unfinished> OfNut(Bytes& bytes, std::int64_t size) {
  constexpr std::int64_t kFooter = 12;
  constexpr std::string_view kIndex("NX\xdd\x67\x2f\x23\xe6\x4e", 8);
  const std::uint64_t length = bytes.Big(std::max<std::int64_t>(0, size - kFooter), 8);
  const bool inside = length > kFooter && length <= static_cast<std::uint64_t>(size);
  const bool closed = inside && bytes.Is(size - static_cast<std::int64_t>(length), kIndex);
  return closed ? std::nullopt : std::optional(NotClosed());
}

struct PacketLayout {
  std::int64_t length;
  std::int64_t sync_at;
};

/// Packets of ISO/IEC 13818-1, 2.4.3.2, bare, with four bytes of time before them, or with sixteen
/// of error correction behind.
constexpr std::array<PacketLayout, 3> kTransportPackets{{{188, 0}, {192, 4}, {204, 0}}};

bool IsSync(Bytes& bytes, std::int64_t at) {
  return bytes.Is(at, "\x47");
}

/// Nothing says where a transport stream ends; a recorder writes whole packets.
std::optional<Unfinished> OfTransport(Bytes& bytes, std::int64_t size) {
  for (const auto& [length, sync] : kTransportPackets) {
    if (size > 3 * length && IsSync(bytes, sync) && IsSync(bytes, sync + length) &&
        IsSync(bytes, sync + 2 * length)) {
      const bool whole =
          IsSync(bytes, size - length + sync) && IsSync(bytes, size - 2 * length + sync);
      return whole ? std::nullopt : std::optional(Unfinished{FileEnd::kCut, kEndsInsidePacket});
    }
  }
  return std::nullopt;
}

}  // namespace

std::optional<Unfinished> FindUnfinished(ByteSource& source) {
  Bytes bytes(source);
  if (bytes.Is(0, "RIFF") && bytes.Is(8, "AVI ")) {
    return OfAvi(bytes, source.size());
  }
  if (bytes.Is(0, std::string_view("\x30\x26\xb2\x75\x8e\x66\xcf\x11", 8))) {
    return OfAsf(bytes, source.size());
  }
  if (bytes.Is(0, kNutHead)) {
    return OfNut(bytes, source.size());
  }
  return bytes.Is(0, "OggS") ? OfOgg(bytes, source) : OfTransport(bytes, source.size());
}

}  // namespace probes
