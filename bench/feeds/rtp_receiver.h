// SPDX-License-Identifier: Apache-2.0
//
// Receives RTP datagrams and puts the pictures together: our socket, FFmpeg's depacketiser.

#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/feeds/picture_assembler.h"
#include "bench/feeds/rtp_header.h"
#include "bench/feeds/udp_socket.h"
#include "bench/stages/run_control.h"

namespace bench {

class RtpReceiver {
 public:
  /// Called for each datagram of the session that FFmpeg took, with its picture.
  using DatagramSeen = std::function<void(std::int64_t index)>;

  struct Session {
    std::string description;  // as RtpPacketizer gives it
    base::Rational rate;
    RtpHeader first;  // timestamp and source of picture 0
  };

  static base::Result<std::unique_ptr<RtpReceiver>> Open(UdpSocket socket, const Session& session,
                                                         const RunControl& control,
                                                         DatagramSeen seen);
  ~RtpReceiver();
  RtpReceiver(const RtpReceiver&) = delete;
  RtpReceiver& operator=(const RtpReceiver&) = delete;

  /// Nothing is sent any more: an empty socket is then the end.
  void SenderEnded() { ended_ = true; }
  /// The next picture, complete or not; nothing at the end.
  base::Result<std::optional<PictureAssembler::Assembled>> Next();

  std::int64_t received() const { return received_; }
  std::int64_t lost() const { return lost_; }

 private:
  RtpReceiver(UdpSocket socket, const Session& session, const RunControl& control,
              DatagramSeen seen);
  base::Status Start(const std::string& description);
  static int ReadDatagram(void* self, std::uint8_t* into, int size);
  /// Receiver reports go back to the camera (RFC 3550 section 6.4.2).
  static int SendReport(void* self, std::uint8_t* data, int size);
  int Read(std::span<std::uint8_t> into);
  bool Note(std::span<const std::uint8_t> datagram);

  UdpSocket socket_;
  const RunControl& control_;
  const DatagramSeen seen_;
  base::InputPtr input_;
  AVIOContext* io_ = nullptr;
  PictureAssembler assembler_;
  std::optional<PictureAssembler::Assembled> waiting_;
  PictureClock clock_;
  const std::uint32_t source_;
  SequenceGaps gaps_;
  std::int64_t index_ = 0;  // of the last datagram
  bool marker_ = false;     // of the last datagram
  std::atomic<bool> ended_{false};
  std::atomic<std::int64_t> received_{0};
  std::atomic<std::int64_t> lost_{0};
};

}  // namespace bench
