// SPDX-License-Identifier: Apache-2.0
//
// A network source by RTP over UDP (RFC 3550): each picture leaves at its moment, all of its
// datagrams at once.

#pragma once

#include <atomic>
#include <map>
#include <memory>
#include <mutex>

#include "bench/feeds/network_feed.h"
#include "bench/feeds/rtp_packetizer.h"
#include "bench/feeds/rtp_receiver.h"

namespace bench {

class RtpFeed : public NetworkFeed {
 public:
  static base::Result<std::unique_ptr<NetworkFeed>> Open(const profiles::Source& source,
                                                         const FeedRing& ring,
                                                         const RunControl& control,
                                                         DatagramFilter filter);

  base::Result<bool> Send(const AVPacket& picture, std::int64_t index) override;
  void EndSending() override { receiver_->SenderEnded(); }
  base::Result<std::optional<ReceivedPicture>> Receive() override;
  NetworkCounts counts() const override;
  std::int64_t socket_buffer_bytes() const override { return buffer_bytes_; }
  int delay_frames() const override { return 0; }

 private:
  RtpFeed(UdpSocket socket, std::unique_ptr<RtpPacketizer> packetizer, DatagramFilter filter)
      : socket_(std::move(socket)),
        packetizer_(std::move(packetizer)),
        filter_(std::move(filter)) {}
  bool TakeWhole(std::int64_t index);

  UdpSocket socket_;  // the sender's
  std::unique_ptr<RtpPacketizer> packetizer_;
  const DatagramFilter filter_;
  std::vector<Datagram> let_through_;
  std::int64_t datagrams_sent_ = 0;
  std::unique_ptr<RtpReceiver> receiver_;
  std::int64_t buffer_bytes_ = 0;
  std::mutex mutex_;
  std::map<std::int64_t, std::size_t> missing_;  // datagrams by picture that have not come
  std::atomic<std::int64_t> incomplete_{0};
};

}  // namespace bench
