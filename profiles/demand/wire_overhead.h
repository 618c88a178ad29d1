// SPDX-License-Identifier: Apache-2.0
//
// What media becomes on an Ethernet cable: the headers of each layer added.

#pragma once

#include "base/rational.h"
#include "profiles/demand/stream_url.h"

namespace profiles {

/// Bytes around one IP packet on the cable: preamble and start delimiter 8,
/// header 14, check sequence 4, gap 12 (IEEE 802.3).
inline constexpr int kEthernetBytes = 38;
inline constexpr int kMtuBytes = 1500;
inline constexpr int kIpv4Bytes = 20;          // RFC 791
inline constexpr int kUdpBytes = 8;            // RFC 768
inline constexpr int kTcpBytes = 20;           // RFC 9293
inline constexpr int kTcpTimestampBytes = 12;  // RFC 7323 with padding; Linux sends them
inline constexpr int kRtpBytes = 12;           // RFC 3550
inline constexpr int kSrtBytes = 16;           // libsrt srt.h
inline constexpr int kTsPacketBytes = 188;
inline constexpr int kTsPacketsPerDatagram = 7;  // 8 would pass the MTU

/// Payload of `payload_bytes` in each full packet, `header_bytes` of IP and
/// above: bits on the cable for `bits_per_second` of payload.
double OnEthernet(double bits_per_second, int payload_bytes, int header_bytes);

/// A stream (its container counted already) on the cable, without anything sent again.
double StreamWireBitsPerSecond(Transport transport, double media_bits_per_second);

/// `bits_per_second` with what the protocol may add to send lost packets again: a quarter for
/// SRT (its overhead default, draft-sharabayko-srt 5.1.1), nothing for the others.
double WithRecovery(Transport transport, double bits_per_second);

/// A network source: RTP over UDP, pictures cut into fragmentation units
/// (RFC 6184 and RFC 7798), the last packet of each picture short. RTCP left
/// out: at most 5 % (RFC 3550), mostly far less.
double RtpWireBitsPerSecond(const base::Rational& rate, int bitrate_kbps, bool hevc);

}  // namespace profiles
