// SPDX-License-Identifier: Apache-2.0
//
// Cuts compressed pictures into RTP datagrams, as a network camera does: FFmpeg's RTP muxer.

#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/rational.h"
#include "base/result.h"
#include "bench/feeds/udp_socket.h"

namespace bench {

class RtpPacketizer {
 public:
  /// Pictures of `codec` (H.264 by RFC 6184, HEVC by RFC 7798) at `rate`.
  static base::Result<std::unique_ptr<RtpPacketizer>> Open(AVCodecID codec, int width, int height,
                                                           const base::Rational& rate);
  ~RtpPacketizer();
  RtpPacketizer(const RtpPacketizer&) = delete;
  RtpPacketizer& operator=(const RtpPacketizer&) = delete;

  /// The datagrams of picture `index`, valid until the next call.
  base::Result<const std::vector<Datagram>*> Cut(const AVPacket& picture, std::int64_t index);
  /// The session's description (RFC 8866) for a receiver on `port` of this PC.
  base::Result<std::string> Description(int port) const;

 private:
  explicit RtpPacketizer(const base::Rational& rate) : rate_(rate) {}
  base::Status Start(AVCodecID codec, int width, int height);
  static int TakeDatagram(void* self, std::uint8_t* data, int size);

  const base::Rational rate_;
  AVFormatContext* format_ = nullptr;
  AVIOContext* io_ = nullptr;
  bool header_written_ = false;
  std::vector<Datagram> datagrams_;
  std::size_t used_ = 0;
};

}  // namespace bench
