// SPDX-License-Identifier: Apache-2.0
//
// Files that were not closed, or are not all there.

#include "probes/recording/containers/unfinished.h"

#include <optional>
#include <span>
#include <string>
#include <utility>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace probes {
namespace {

using testing::Eq;
using testing::HasSubstr;
using testing::Optional;

std::optional<std::string> Told(const std::string& file) {
  MemoryBytes source(std::span(reinterpret_cast<const std::uint8_t*>(file.data()), file.size()));
  const auto found = FindUnfinished(source);
  return found ? std::optional(found->text) : std::nullopt;
}

std::string Little(std::uint64_t value, int bytes) {
  std::string text;
  for (int i = 0; i < bytes; ++i) {
    text += static_cast<char>(value >> (8 * i) & 255);
  }
  return text;
}

std::string Avi(std::uint32_t size, std::uint32_t pictures) {
  return "RIFF" + Little(size, 4) + "AVI LIST" + Little(1000, 4) + "hdrlavih" + Little(56, 4) +
         std::string(16, '\0') + Little(pictures, 4) + std::string(500, 'x');
}

TEST(FindUnfinished, AviThatWasNeverClosedOrWasCut) {
  const auto whole = static_cast<std::uint32_t>(Avi(0, 0).size() - 8);
  EXPECT_EQ(Told(Avi(whole, 25)), std::nullopt);
  EXPECT_EQ(Told(Avi(whole - 100, 25)), std::nullopt);  // more RIFF chunks follow it
  EXPECT_THAT(Told(Avi(0, 25)), Optional(HasSubstr("not closed")));
  EXPECT_THAT(Told(Avi(whole, 0)), Optional(HasSubstr("not closed")));
  EXPECT_THAT(Told(Avi(whole + 1, 25)), Optional(HasSubstr("cut short")));
}

std::string Asf(std::uint64_t size, std::uint32_t flags) {
  const std::string header("\x30\x26\xb2\x75\x8e\x66\xcf\x11\xa6\xd9\x00\xaa\x00\x62\xce\x6c", 16);
  const std::string properties("\xa1\xdc\xab\x8c\x47\xa9\xcf\x11\x8e\xe4\x00\xc0\x0c\x20\x53\x65",
                               16);
  return header + Little(500, 8) + Little(2, 4) + "\x01\x02" + std::string(16, 'o') +
         Little(40, 8) + std::string(16, 'o') + properties + Little(104, 8) + std::string(16, 'i') +
         Little(size, 8) + std::string(40, '\0') + Little(flags, 4) + std::string(300, 'x');
}

TEST(FindUnfinished, AsfThatIsLiveCutOrLonger) {
  const std::size_t whole = Asf(0, 0).size();
  EXPECT_EQ(Told(Asf(whole, 2)), std::nullopt);
  EXPECT_THAT(Told(Asf(whole + 50, 2)), Optional(HasSubstr("cut short")));
  EXPECT_THAT(Told(Asf(whole - 50, 2)), Optional(HasSubstr("goes on for 50 bytes")));
  EXPECT_THAT(Told(Asf(whole, 3)), Optional(HasSubstr("not closed")));
}

std::string Page(int flags, int bytes) {
  return "OggS" + Little(0, 1) + Little(static_cast<std::uint64_t>(flags), 1) +
         std::string(20, 'g') + Little(1, 1) + Little(static_cast<std::uint64_t>(bytes), 1) +
         std::string(static_cast<std::size_t>(bytes), 'x');
}

std::string Nut(std::uint8_t index_bytes) {
  const std::string head("nut/multimedia container\0", 25);
  const std::string index("NX\xdd\x67\x2f\x23\xe6\x4e", 8);
  return head + std::string(300, 'x') + index + std::string(15, 'i') + std::string(7, '\0') +
         static_cast<char>(index_bytes) + "csum";
}

// The NUT Open Container Format: index_ptr counts from the index's startcode to its checksum's end.
TEST(FindUnfinished, NutWithoutTheIndexAtItsEnd) {
  const std::uint8_t index = 8 + 15 + 8 + 4;
  EXPECT_EQ(Told(Nut(index)), std::nullopt);
  EXPECT_THAT(Told(Nut(index + 1)), Optional(HasSubstr("not closed")));
  EXPECT_THAT(Told(Nut(0)), Optional(HasSubstr("not closed")));
  const std::string whole = Nut(index);
  EXPECT_THAT(Told(whole.substr(0, whole.size() - 1)), Optional(HasSubstr("not closed")));
  EXPECT_THAT(Told(whole.substr(0, 30)), Optional(HasSubstr("not closed")));
}

TEST(FindUnfinished, OggWithoutItsLastPage) {
  EXPECT_EQ(Told(Page(2, 30) + Page(0, 200) + Page(4, 100)), std::nullopt);
  EXPECT_THAT(Told(Page(2, 30) + Page(0, 200)), Optional(HasSubstr("not closed")));
  const std::string cut = Page(2, 30) + Page(4, 200);
  EXPECT_THAT(Told(cut.substr(0, cut.size() - 7)), Optional(HasSubstr("inside a page")));
  EXPECT_THAT(Told("OggS"), Optional(HasSubstr("inside a page")));
}

std::string Transport(int packets, int before, int length) {
  std::string file;
  for (int i = 0; i < packets; ++i) {
    file += std::string(static_cast<std::size_t>(before), 't') + "\x47" +
            std::string(static_cast<std::size_t>(length - before - 1), 'x');
  }
  return file;
}

TEST(FindUnfinished, TransportStreamThatEndsInsideAPacket) {
  constexpr std::size_t kMebi = 1 << 20;
  for (const auto& [before, length] : {std::pair(0, 188), std::pair(4, 192), std::pair(0, 204)}) {
    const std::string file = Transport(6000, before, length);
    EXPECT_EQ(Told(file), std::nullopt) << length;
    EXPECT_THAT(Told(file.substr(0, kMebi)), Optional(HasSubstr("inside a packet"))) << length;
    EXPECT_EQ(Told(file.substr(0, 2000) + Transport(9, before, length)), std::nullopt)
        << length << ": a hole inside is no cut";
  }
}

TEST(FindUnfinished, OtherFilesAreNotItsTask) {
  EXPECT_EQ(Told(""), std::nullopt);
  EXPECT_EQ(Told("RIFF"), std::nullopt);
  EXPECT_EQ(Told(std::string(100, '\0')), std::nullopt);
  EXPECT_EQ(Told(std::string("\x30\x26\xb2\x75\x8e\x66\xcf\x11", 8)), std::nullopt);
}

}  // namespace
}  // namespace probes
