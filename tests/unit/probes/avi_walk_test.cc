// SPDX-License-Identifier: Apache-2.0
//
// Chunks of AVI files (RIFF, little-endian), whole, cut short and damaged.

#include "probes/avi_walk.h"

#include <algorithm>
#include <span>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/unit/probes/zeros_behind.h"

namespace probes {
namespace {

std::string Little(std::uint32_t value, int bytes = 4) {
  std::string text;
  for (int i = 0; i < bytes; ++i) {
    text += static_cast<char>(value >> (8 * i) & 255);
  }
  return text;
}

std::string Chunk(const std::string& letters, const std::string& content) {
  return letters + Little(static_cast<std::uint32_t>(content.size())) + content +
         std::string(content.size() % 2, '\0');
}

std::string Track(const std::string& kind, std::uint32_t rate, std::uint32_t unit_bytes,
                  const std::string& form) {
  const std::string head = kind + std::string(16, '\0') + Little(1) + Little(rate) + Little(0) +
                           Little(0) + std::string(8, '\0') + Little(unit_bytes);
  return Chunk("LIST", "strl" + Chunk("strh", head + std::string(8, '\0')) + Chunk("strf", form));
}

/// Pictures at 25 a second, those of `lost` empty, and 16-bit sound at 8000 a second.
std::string Movie(int pictures, const std::vector<int>& lost = {}) {
  const std::string bitmap =
      Little(40) + Little(64) + Little(36) + Little(1, 2) + Little(24, 2) + "MJPG";
  const std::string wave =
      Little(1, 2) + Little(1, 2) + Little(8000) + Little(16000) + Little(2, 2) + Little(16, 2);
  std::string content = "movi";
  for (int i = 0; i < pictures; ++i) {
    const bool empty = std::find(lost.begin(), lost.end(), i) != lost.end();
    content +=
        Chunk("00dc", std::string(empty ? 0 : 33, 'x')) + Chunk("01wb", std::string(640, 's'));
  }
  return Chunk("RIFF",
               "AVI " +
                   Chunk("LIST", "hdrl" + Chunk("avih", std::string(56, '\0')) +
                                     Track("vids", 25, 0, bitmap) + Track("auds", 8000, 2, wave)) +
                   Chunk("JUNK", "odd") + Chunk("LIST", content) +
                   Chunk("idx1", std::string(32, '\0')));
}

struct Walked {
  std::vector<AviTrack> tracks;
  std::vector<AviChunk> chunks;
  AviEnd end;
};

Walked WalkOver(const std::string& file) {
  MemoryBytes source(std::span(reinterpret_cast<const std::uint8_t*>(file.data()), file.size()));
  ByteWindow bytes(source);
  Walked walked;
  EXPECT_TRUE(LooksAvi(bytes));
  const auto header = ReadAviHeader(bytes);
  if (header) {
    walked.tracks = header->tracks;
    walked.end = WalkAvi(source, *header, {},
                         [&](const AviChunk& chunk) { walked.chunks.push_back(chunk); });
  }
  return walked;
}

TEST(AviWalk, ReadsTracksAndTheirChunks) {
  const Walked walked = WalkOver(Movie(5, {2}));
  ASSERT_EQ(walked.tracks.size(), 2U);
  EXPECT_EQ(walked.tracks[0].kind, TrackKind::kVideo);
  EXPECT_EQ(walked.tracks[0].width, 64);
  EXPECT_EQ(walked.tracks[0].rate, 25U);
  EXPECT_EQ(walked.tracks[1].samples_per_second, 8000);
  EXPECT_EQ(walked.tracks[1].unit_bytes, 2U);
  ASSERT_EQ(walked.chunks.size(), 10U);
  EXPECT_EQ(walked.chunks[4].bytes, 0);  // the picture that was left out keeps its number
  EXPECT_EQ(walked.chunks[6].at, 3);
  EXPECT_EQ(walked.chunks[9].at, 4 * 320);
  EXPECT_EQ(walked.chunks[9].units, 320);
  EXPECT_FALSE(walked.end.cut);
  EXPECT_EQ(walked.end.damaged_at, -1);
}

TEST(AviWalk, AFileThatWasNotFinishedIsReadToItsEnd) {
  std::string file = Movie(5);
  file.resize(file.size() - 40 - 300);  // the index, and a part of the last chunk of sound
  const Walked walked = WalkOver(file);
  EXPECT_EQ(walked.chunks.size(), 9U);
  EXPECT_TRUE(walked.end.cut);
}

TEST(AviWalk, GoesOnBehindDamage) {
  std::string file = Movie(5);
  const auto second = file.find("00dc", file.find("00dc") + 1);
  file.replace(second, 8, 8, '\x01');
  const Walked walked = WalkOver(file);
  EXPECT_EQ(walked.end.damaged_at, static_cast<std::int64_t>(second));
  EXPECT_EQ(walked.chunks.size(), 9U);
}

TEST(AviWalk, OtherFilesAreRefused) {
  EXPECT_TRUE(WalkOver(Chunk("RIFF", "AVI ")).tracks.empty());
  EXPECT_TRUE(WalkOver("RIFF\xff\xff\xff\xff"
                       "AVI LIST\xff\xff\xff\xffmovi")
                  .tracks.empty());
}

TEST(AviWalk, IsStoppedWhileItLooksForAChunk) {
  tests::ZerosBehind source(Movie(5), std::int64_t{1} << 50);
  ByteWindow bytes(source);
  const auto header = ReadAviHeader(bytes);
  ASSERT_TRUE(header);
  std::stop_source stop;
  stop.request_stop();
  EXPECT_TRUE(WalkAvi(source, *header, stop.get_token(), [](const AviChunk&) {}).stopped);
}

}  // namespace
}  // namespace probes
