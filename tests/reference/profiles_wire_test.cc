// SPDX-License-Identifier: Apache-2.0
//
// Overheads of the wire against header sizes of the standards.

#include <gtest/gtest.h>

#include "profiles/demand/wire_overhead.h"

namespace profiles {
namespace {

// What a 1 Gb/s line carries is 1e9 over the growth from payload to wire.
double GoodputOfGigabit(int payload_bytes, int header_bytes) {
  return 1000 / OnEthernet(1, payload_bytes, header_bytes);
}

// (1500 - 40) / (1500 + 38): RFC 791, RFC 9293, IEEE 802.3; also on public pages of payload rates.
TEST(Ethernet, TcpGoodputAtGigabit) {
  EXPECT_NEAR(GoodputOfGigabit(1460, 40), 949.2848, 5e-5);
}

// (1500 - 52) / (1500 + 38) with time stamps (RFC 7323): what Linux hosts reach.
TEST(Ethernet, TcpGoodputWithTimestamps) {
  EXPECT_NEAR(1000 / (StreamWireBitsPerSecond(Transport::kTcp, 1e6) / 1e6), 941.482, 5e-4);
}

// (1500 - 28) / (1500 + 38): RFC 768.
TEST(Ethernet, UdpGoodputAtGigabit) {
  EXPECT_NEAR(GoodputOfGigabit(1472, 28), 957.0871, 5e-5);
}

// 7 x 188 = 1316 bytes in each datagram (FFmpeg libavformat/mpegts.h; 8 pass the MTU):
// 20 x (1316 + 28 + 38) / 1316.
TEST(TransportStream, OverUdp) {
  EXPECT_NEAR(StreamWireBitsPerSecond(Transport::kUdp, 20e6) / 1e6, 21.00304, 5e-6);
}

// 1316 / (1316 + 28 + 16 + 38): the 16-byte header stands in libsrt's srt.h.
TEST(TransportStream, OverSrt) {
  EXPECT_NEAR(100 / (StreamWireBitsPerSecond(Transport::kSrt, 1e6) / 1e6), 94.13, 5e-3);
}

// 25 % overhead default (draft-sharabayko-srt 5.1.1; libsrt socketconfig.h), and at most 70 % of
// the measured uplink used (common practice): 10 x 1.25 / 0.7.
TEST(TransportStream, UplinkForSrt) {
  EXPECT_NEAR(WithRecovery(Transport::kSrt, 10e6) / 0.7 / 1e6, 17.8571, 5e-5);
}

// RTMP adds a byte for each chunk of 4096 (common practice of servers) to TCP's own: with
// 1448 of 1538 bytes that is 6.24 %.
TEST(Rtmp, CostsLittleMoreThanTcp) {
  EXPECT_NEAR(StreamWireBitsPerSecond(Transport::kRtmp, 1e6) / 1e6, 1538.0 / 1448 * 1.000244, 1e-6);
}

// RFC 3550 (12), RFC 768 (8), RFC 791 (20), RFC 6184 5.8 (2): full fragments carry 1458 bytes.
// A 50 Mb/s camera at 25 pictures has 250000 bytes in 172 fragments of each picture.
TEST(Rtp, OfANetworkCamera) {
  EXPECT_NEAR(RtpWireBitsPerSecond(25, 50000, false), (250000 + 172 * 80) * 8 * 25.0, 1e-3);
}

}  // namespace
}  // namespace profiles
