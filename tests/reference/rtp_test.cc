// SPDX-License-Identifier: Apache-2.0
//
// RTP against its standards: RFC 3550 (RTP), RFC 6184 (H.264 in RTP). The datagrams are those that
// a simulated camera really sends, read here by hand from the tables of the standards.

#include <algorithm>

#include <gtest/gtest.h>

#include "bench/feeds/feed_ring.h"
#include "bench/feeds/rtp_header.h"
#include "bench/feeds/rtp_packetizer.h"

namespace bench {
namespace {

// RFC 3550 section 5.1, the first three words: version 2, no padding, no extension, no
// contributing sources; marker and type 96; sequence 0x1234; timestamp; SSRC.
TEST(RtpHeader, IsReadByTheLayoutOfRfc3550) {
  const std::vector<std::uint8_t> datagram{0x80, 0xe0, 0x12, 0x34, 0x89, 0xab, 0xcd,
                                           0xef, 0x01, 0x02, 0x03, 0x04, 0x65};
  const auto header = ParseRtpHeader(datagram);
  ASSERT_TRUE(header);
  EXPECT_TRUE(header->marker);
  EXPECT_EQ(header->payload_type, 96);
  EXPECT_EQ(header->sequence, 0x1234);
  EXPECT_EQ(header->timestamp, 0x89abcdefU);
  EXPECT_EQ(header->source, 0x01020304U);
}

// RFC 3550 section 5.1: "The version defined by this specification is two (2)"; CC gives the
// number of 32-bit CSRC identifiers after the fixed header; section 5.3.1: the extension's 16-bit
// length counts 32-bit words after its own four bytes; padding's last byte counts itself.
TEST(RtpHeader, RefusesWhatIsShorterThanItSays) {
  const std::vector<std::uint8_t> good{0x80, 0x60, 0, 1, 0, 0, 0, 1, 0, 0, 0, 1};
  const auto with = [&](std::uint8_t first, std::vector<std::uint8_t> rest) {
    std::vector<std::uint8_t> datagram = good;
    datagram[0] = first;
    datagram.insert(datagram.end(), rest.begin(), rest.end());
    return ParseRtpHeader(datagram).has_value();
  };
  EXPECT_TRUE(with(0x80, {}));
  EXPECT_FALSE(with(0x40, {})) << "version 1";
  EXPECT_FALSE(with(0xc0, {})) << "version 3";
  EXPECT_FALSE(with(0x82, {1, 2, 3, 4, 5, 6, 7})) << "two contributing sources need 8 bytes";
  EXPECT_TRUE(with(0x82, {1, 2, 3, 4, 5, 6, 7, 8}));
  EXPECT_FALSE(with(0x90, {0xbe, 0xde, 0, 1})) << "an extension of one word needs it";
  EXPECT_TRUE(with(0x90, {0xbe, 0xde, 0, 1, 0, 0, 0, 0}));
  EXPECT_FALSE(with(0x90, {0xbe, 0xde, 0xff, 0xff}));
  EXPECT_TRUE(with(0xa0, {7, 7, 2}));
  EXPECT_FALSE(with(0xa0, {7, 0})) << "padding of none";
  EXPECT_FALSE(with(0xa0, {7, 200})) << "more padding than datagram";
  for (std::size_t size = 0; size < good.size(); ++size) {
    EXPECT_FALSE(ParseRtpHeader({good.data(), size})) << size;
  }
}

// RFC 5761 section 4: with RTCP on the same port, types 64 to 95 are not used for RTP; RTCP's own
// 200 (sender report, RFC 3550 section 12.1) looks like marker and type 72.
TEST(RtpHeader, TellsRtcpApart) {
  EXPECT_FALSE(ParseRtpHeader(std::vector<std::uint8_t>{0x80, 200, 0, 6, 0, 0, 0, 1, 0, 0, 0, 1}));
}

// RFC 3550 appendix A.3: expected = extended highest - base + 1, lost = expected - received;
// section 5.1: the sequence number has 16 bits and wraps.
TEST(SequenceGaps, CountsThroughTheWrapOfSixteenBits) {
  SequenceGaps gaps;
  for (const int sequence : {65533, 65534, /* 65535 */ 0, 1, /* 2, 3 */ 4}) {
    gaps.Note(static_cast<std::uint16_t>(sequence));
  }
  EXPECT_EQ(gaps.received(), 5);
  EXPECT_EQ(gaps.lost(), 3);
}

TEST(SequenceGaps, OvertakenPacketsAreNotLost) {
  SequenceGaps gaps;
  for (const int sequence : {10, 12, 11, 13}) {
    gaps.Note(static_cast<std::uint16_t>(sequence));
  }
  EXPECT_EQ(gaps.lost(), 0);
}

TEST(SequenceGaps, CountsManyWraps) {
  SequenceGaps gaps;
  for (int i = 0; i < 200'000; ++i) {
    if (i % 1000 != 999) {
      gaps.Note(static_cast<std::uint16_t>(i & 0xffff));
    }
  }
  EXPECT_EQ(gaps.lost(), 199) << "the last one left out leaves no gap";
}

// RFC 6184 section 8.2.1: "The clock rate in the a=rtpmap line MUST be 90000." Periods of 3600
// ticks at 25 and 3003 at 30000/1001 are common practice (90000 x 1001 / 30000).
TEST(PictureTicks, RunAtNinetyKilohertz) {
  EXPECT_EQ(PictureTicks(1, 25), 3600);
  EXPECT_EQ(PictureTicks(1, {30000, 1001}), 3003);
  EXPECT_EQ(PictureTicks(2, {60000, 1001}), 3003);
  EXPECT_EQ(PictureTicks(60, 60), 90'000);
}

TEST(PictureClock, FindsEveryPictureThroughTheWrapOfThirtyTwoBits) {
  for (const base::Rational rate : {base::Rational(24000, 1001), base::Rational(25),
                                    base::Rational(60000, 1001), base::Rational(240)}) {
    const std::uint32_t first = 0xffff'0000U;
    PictureClock clock(first, rate);
    for (std::int64_t index = 0; index < 5000; ++index) {
      const auto timestamp = static_cast<std::uint32_t>(first + PictureTicks(index, rate));
      ASSERT_EQ(clock.IndexOf(timestamp), index);
    }
  }
}

// The 32-bit clock wraps after 2^32 / 90000 s = 13.25 h, which a day of production passes.
TEST(PictureClock, HoldsForADay) {
  PictureClock clock(0, 25);
  const std::int64_t day = std::int64_t{24} * 3600 * 25;
  for (std::int64_t index = 0; index <= day; index += 250) {
    ASSERT_EQ(clock.IndexOf(static_cast<std::uint32_t>(PictureTicks(index, 25))), index);
  }
}

TEST(PictureClock, OneWildTimestampDoesNotMoveIt) {
  PictureClock clock(1000, 25);
  EXPECT_EQ(clock.IndexOf(1000 + 3600), 1);
  clock.IndexOf(0x9000'0000U);
  EXPECT_EQ(clock.IndexOf(1000 + 2 * 3600), 2);
}

/// A camera's first picture (a whole one, larger than a datagram) and what it is cut into.
struct CutPicture {
  std::vector<std::vector<std::uint8_t>> units;  // NAL units of the encoder's Annex B stream
  std::vector<Datagram> datagrams;
};

std::vector<std::vector<std::uint8_t>> NalUnits(const AVPacket& packet) {
  // ISO/IEC 14496-10 Annex B: units stand after 00 00 01; zeros before the next belong to none.
  std::vector<std::vector<std::uint8_t>> units;
  const std::vector<std::uint8_t> bytes(packet.data, packet.data + packet.size);
  const std::vector<std::uint8_t> mark{0, 0, 1};
  auto at = std::search(bytes.begin(), bytes.end(), mark.begin(), mark.end());
  while (at != bytes.end()) {
    const auto next = std::search(at + 3, bytes.end(), mark.begin(), mark.end());
    std::vector<std::uint8_t> unit(at + 3, next);
    while (!unit.empty() && unit.back() == 0) {
      unit.pop_back();
    }
    units.push_back(std::move(unit));
    at = next;
  }
  return units;
}

CutPicture Cut() {
  profiles::Source source;
  source.name = "Invented camera";
  source.arrives_by = profiles::ArrivesBy::kNetwork;
  source.raster = {640, 360};
  source.rate = 25;
  source.codec = "h264";
  source.bitrate_kbps = 20'000;
  source.content = profiles::Content::kStage;
  const auto ring = MakeFeedRing(source, "", 12, 1, {});
  auto packetizer = RtpPacketizer::Open(AV_CODEC_ID_H264, 640, 360, 25);
  const AVPacket& picture = *ring->packets[0];
  return {NalUnits(picture), **(*packetizer)->Cut(picture, 0)};
}

// RFC 6184 sections 5.4 to 5.8: types 1 to 23 are single units, 24 is STAP-A (16-bit sizes before
// each unit), 28 is FU-A: indicator (F, NRI, 28), header (S, E, R, type), then a piece without the
// unit's own first byte.
TEST(SimulatedCamera, CutsPicturesByRfc6184) {
  const CutPicture cut = Cut();
  std::vector<std::vector<std::uint8_t>> units;
  int fragments = 0;
  bool open = false;
  for (const Datagram& datagram : cut.datagrams) {
    ASSERT_GT(datagram.size(), 14U);
    const std::vector<std::uint8_t> payload(datagram.begin() + 12, datagram.end());
    const int type = payload[0] & 0x1f;
    if (type == 28) {
      ++fragments;
      const bool start = (payload[1] & 0x80) != 0;
      const bool end = (payload[1] & 0x40) != 0;
      EXPECT_EQ(payload[1] & 0x20, 0) << "R must be 0";
      EXPECT_FALSE(start && end) << "5.8: both must not be set in one header";
      EXPECT_EQ(start, !open) << "a unit's fragments follow each other";
      if (start) {
        units.push_back({static_cast<std::uint8_t>((payload[0] & 0xe0) | (payload[1] & 0x1f))});
      }
      units.back().insert(units.back().end(), payload.begin() + 2, payload.end());
      open = !end;
    } else if (type == 24) {
      for (std::size_t at = 1; at + 2 <= payload.size();) {
        const std::size_t size = payload[at] * 256U + payload[at + 1];
        ASSERT_LE(at + 2 + size, payload.size());
        units.emplace_back(payload.begin() + static_cast<std::ptrdiff_t>(at + 2),
                           payload.begin() + static_cast<std::ptrdiff_t>(at + 2 + size));
        at += 2 + size;
      }
    } else {
      ASSERT_GE(type, 1);
      ASSERT_LE(type, 23);
      units.push_back(payload);
    }
  }
  EXPECT_FALSE(open);
  EXPECT_GT(fragments, 1);
  EXPECT_EQ(units, cut.units);
}

// RFC 6184 section 5.1: the marker is set on the very last packet of the access unit, and all of
// its packets bear the same timestamp; RFC 3550 section 5.1: the sequence number increments by
// one for each packet. MTU 1500 less IPv4 20 (RFC 791) and UDP 8 (RFC 768).
TEST(SimulatedCamera, MarksTheLastDatagramOfAPicture) {
  const CutPicture cut = Cut();
  const auto first = ParseRtpHeader(cut.datagrams[0]);
  ASSERT_TRUE(first);
  for (std::size_t i = 0; i < cut.datagrams.size(); ++i) {
    const auto header = ParseRtpHeader(cut.datagrams[i]);
    ASSERT_TRUE(header);
    EXPECT_EQ(header->marker, i + 1 == cut.datagrams.size());
    EXPECT_EQ(header->timestamp, first->timestamp);
    EXPECT_EQ(header->source, first->source);
    EXPECT_EQ(header->sequence, static_cast<std::uint16_t>(first->sequence + i));
    EXPECT_GE(header->payload_type, 96) << "RFC 3551 section 6: dynamic types";
    EXPECT_LE(cut.datagrams[i].size(), 1500U - 20 - 8);
  }
}

}  // namespace
}  // namespace bench
