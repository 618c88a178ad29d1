// SPDX-License-Identifier: Apache-2.0

#include "probes/pci_gpu/edid.h"

#include <cstdint>
#include <initializer_list>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using base::Reading;
using probes::EdidWithoutSerials;
using probes::ParseEdid;
using testing::HasSubstr;
using testing::Not;

constexpr std::size_t kFirstDescriptor = 54;

void Put(std::string& bytes, std::size_t at, std::initializer_list<int> values) {
  for (const int value : values) {
    bytes[at++] = static_cast<char>(value);
  }
}

/// An invented display: preferred timing, serial text, name and range, a serial number.
std::string Edid(std::initializer_list<int> timing) {
  std::string bytes(128, '\0');
  Put(bytes, 0, {0, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0, 0x31, 0xd8, 1, 0});
  Put(bytes, 12, {0x78, 0x56, 0x34, 0x12, 40, 33, 1, 3});
  Put(bytes, kFirstDescriptor, timing);
  bytes.replace(kFirstDescriptor + 18, 18, std::string("\0\0\0\xff\0SECRET-4711\n ", 18));
  bytes.replace(kFirstDescriptor + 36, 18, std::string("\0\0\0\xfc\0Example 24  \n", 18));
  bytes.replace(kFirstDescriptor + 54, 18, std::string("\0\0\0\xfd\0\x32\x4b\x1e\x53\x11\0\n", 12));
  bytes.resize(128, '\0');
  bytes[126] = 1;
  return bytes;
}

// CTA-861-G, table 1: VIC 16 is 1920x1080 at 60 Hz, 148.5 MHz, 2200 by 1125 in all.
const std::initializer_list<int> kVic16{0x02, 0x3a, 0x80, 0x18, 0x71, 0x38, 0x2d, 0x40, 0x58,
                                        0x2c, 0x45, 0,    0,    0,    0,    0,    0,    0x1e};
// The same table: VIC 5 is 1920x1080 interlaced, 60 fields, 74.25 MHz, 2200 by 562.5 a field.
const std::initializer_list<int> kVic5{0x01, 0x1d, 0x80, 0x18, 0x71, 0x1c, 0x16, 0x20, 0x58,
                                       0x2c, 0x25, 0,    0,    0,    0,    0,    0,    0x9e};
// The same table: VIC 95 is 3840x2160 at 30 Hz, 297 MHz, 4400 by 2250 in all.
const std::initializer_list<int> kVic95{0x04, 0x74, 0x00, 0x30, 0xf2, 0x70, 0x5a, 0x80, 0xb0,
                                        0x58, 0x8a, 0,    0,    0,    0,    0,    0,    0x1e};

TEST(ParseEdid, ReadsThePreferredTimingAndTheName) {
  const auto facts = ParseEdid(Edid(kVic16));
  EXPECT_EQ(facts.name, Reading<std::string>("Example 24"));
  EXPECT_EQ(facts.raster, Reading<std::string>("1920x1080"));
  EXPECT_EQ(facts.refresh_hz, Reading<double>(60.0));
}

TEST(ParseEdid, ReadsLargeAndInterlacedTimings) {
  EXPECT_EQ(ParseEdid(Edid(kVic95)).raster, Reading<std::string>("3840x2160"));
  EXPECT_EQ(ParseEdid(Edid(kVic95)).refresh_hz, Reading<double>(30.0));
  EXPECT_EQ(ParseEdid(Edid(kVic5)).raster, Reading<std::string>("1920x1080i"));
  EXPECT_EQ(ParseEdid(Edid(kVic5)).refresh_hz, Reading<double>(60.0));
}

TEST(ParseEdid, SaysWhyNothingIsKnown) {
  EXPECT_THAT(ParseEdid("").raster.why_unknown(), HasSubstr("sent none"));
  EXPECT_THAT(ParseEdid(std::string(128, 'x')).name.why_unknown(), HasSubstr("no EDID"));
  EXPECT_FALSE(ParseEdid(Edid(kVic16).substr(0, 127)).raster.known());
  EXPECT_FALSE(ParseEdid(Edid({0, 0, 0, 0x10, 0})).raster.known());
}

TEST(ParseEdid, TakesAnyBytes) {
  std::string bytes = Edid(kVic16);
  for (std::size_t at = 8; at < bytes.size(); ++at) {
    for (const int value : {0, 1, 0x7f, 0x80, 0xff}) {
      std::string changed = bytes;
      changed[at] = static_cast<char>(value);
      ParseEdid(changed);
      ParseEdid(EdidWithoutSerials(changed));
    }
  }
}

TEST(EdidWithoutSerials, KeepsWhatIsShownAndNoSerialNumber) {
  const std::string whole = Edid(kVic16) + std::string(128, 'S');
  const std::string clean = EdidWithoutSerials(whole);
  ASSERT_EQ(clean.size(), 128U);
  EXPECT_THAT(clean, Not(HasSubstr("SECRET")));
  EXPECT_THAT(clean, Not(HasSubstr("\x78\x56\x34\x12")));
  const auto facts = ParseEdid(clean);
  EXPECT_EQ(facts.name, Reading<std::string>("Example 24"));
  EXPECT_EQ(facts.raster, Reading<std::string>("1920x1080"));
  unsigned sum = 0;
  for (const char byte : clean) {
    sum += static_cast<std::uint8_t>(byte);
  }
  EXPECT_EQ(sum % 256, 0U);  // VESA E-EDID: the block's bytes add up to 0
  EXPECT_EQ(EdidWithoutSerials("SECRET"), "");
}

}  // namespace
