// SPDX-License-Identifier: Apache-2.0
//
// A network source by RTSP (RFC 2326): the camera announces itself to a listening receiver and
// sends RTP interleaved in the same TCP connection. FFmpeg speaks both sides.

#pragma once

#include <atomic>
#include <memory>
#include <optional>

#include "bench/feeds/network_feed.h"
#include "bench/feeds/picture_assembler.h"

namespace bench {

class RtspFeed : public NetworkFeed {
 public:
  static base::Result<std::unique_ptr<NetworkFeed>> Open(const profiles::Source& source,
                                                         AVCodecID codec,
                                                         const RunControl& control);
  ~RtspFeed() override;
  RtspFeed(const RtspFeed&) = delete;
  RtspFeed& operator=(const RtspFeed&) = delete;

  base::Result<bool> Send(const AVPacket& picture, std::int64_t index) override;
  void EndSending() override;
  base::Result<std::optional<ReceivedPicture>> Receive() override;
  NetworkCounts counts() const override { return {}; }
  std::int64_t socket_buffer_bytes() const override { return 0; }
  /// A picture is known to be whole when the next one begins.
  int delay_frames() const override { return 1; }

 private:
  RtspFeed(const profiles::Source& source, const RunControl& control)
      : rate_(source.rate), control_(control) {}
  base::Status Listen(int port);
  base::Status Announce(const profiles::Source& source, AVCodecID codec, int port);
  std::optional<ReceivedPicture> Took(std::optional<PictureAssembler::Assembled> assembled);
  static int StopWaiting(void* self);

  const base::Rational rate_;
  const RunControl& control_;
  AVFormatContext* sender_ = nullptr;
  base::InputPtr receiver_;
  PictureAssembler assembler_;
  std::optional<std::int64_t> ticks_ahead_;  // of the receiver's timestamps, against the camera's
  std::atomic<std::int64_t> first_sent_{-1};
  std::atomic<std::int64_t> sent_{0};
  std::atomic<std::int64_t> taken_{0};
  std::atomic<bool> failed_{false};          // one side did not open: the other need not wait
  std::atomic<std::int64_t> give_up_ns_{0};  // when a receiver that still waits gives up; 0: never
};

}  // namespace bench
