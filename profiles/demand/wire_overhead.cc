// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/wire_overhead.h"

#include <cmath>

namespace profiles {
namespace {

constexpr int kTcpPayloadBytes = kMtuBytes - kIpv4Bytes - kTcpBytes - kTcpTimestampBytes;
constexpr int kTcpHeaderBytes = kIpv4Bytes + kTcpBytes + kTcpTimestampBytes;
constexpr int kDatagramBytes = kTsPacketBytes * kTsPacketsPerDatagram;

// RTMP cuts messages into chunks with one byte in front of each. 4096 is what
// servers commonly ask for (common practice). The 12-byte header of a message
// stands in for the 15 bytes that FLV puts around a tag.
constexpr double kRtmpChunkBytes = 4096;

double RtmpBits(double media_bits_per_second) {
  return media_bits_per_second * (kRtmpChunkBytes + 1) / kRtmpChunkBytes;
}

}  // namespace

double OnEthernet(double bits_per_second, int payload_bytes, int header_bytes) {
  return bits_per_second * (payload_bytes + header_bytes + kEthernetBytes) / payload_bytes;
}

double StreamWireBitsPerSecond(Transport transport, double media_bits_per_second) {
  switch (transport) {
    case Transport::kRtmp:
      return OnEthernet(RtmpBits(media_bits_per_second), kTcpPayloadBytes, kTcpHeaderBytes);
    case Transport::kTcp:
      return OnEthernet(media_bits_per_second, kTcpPayloadBytes, kTcpHeaderBytes);
    case Transport::kSrt:
      return OnEthernet(media_bits_per_second, kDatagramBytes, kIpv4Bytes + kUdpBytes + kSrtBytes);
    case Transport::kUdp:
      break;
  }
  return OnEthernet(media_bits_per_second, kDatagramBytes, kIpv4Bytes + kUdpBytes);
}

double WithRecovery(Transport transport, double bits_per_second) {
  return transport == Transport::kSrt ? bits_per_second * 1.25 : bits_per_second;
}

double RtpWireBitsPerSecond(const base::Rational& rate, int bitrate_kbps, bool hevc) {
  // FU indicator and header: 2 bytes for H.264, 3 for HEVC.
  const int unit_bytes = hevc ? 3 : 2;
  const int header_bytes = kIpv4Bytes + kUdpBytes + kRtpBytes + unit_bytes;
  const int payload_bytes = kMtuBytes - header_bytes;
  const double pictures_per_second = base::ToDouble(rate);
  const double picture_bytes = bitrate_kbps * 1000.0 / 8 / pictures_per_second;
  const double packets = std::ceil(picture_bytes / payload_bytes);
  return (picture_bytes + packets * (header_bytes + kEthernetBytes)) * 8 * pictures_per_second;
}

}  // namespace profiles
