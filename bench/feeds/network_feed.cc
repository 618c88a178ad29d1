// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/network_feed.h"

#include <algorithm>

#include "bench/feeds/rtp_feed.h"
#include "bench/feeds/rtsp_feed.h"

namespace bench {

std::int64_t WantedSocketBuffer(const FeedRing& ring) {
  constexpr std::int64_t kUsualBytes = 384 << 10;  // UDP_RX_BUF_SIZE in libavformat/udp.c
  std::int64_t largest = 0;
  for (const base::PacketPtr& packet : ring.packets) {
    largest = std::max<std::int64_t>(largest, packet->size);
  }
  return std::max(kUsualBytes, 2 * largest);
}

base::Result<std::unique_ptr<NetworkFeed>> OpenNetworkFeed(const profiles::Source& source,
                                                           const FeedRing& ring,
                                                           const RunControl& control,
                                                           DatagramFilter filter) {
  if (source.transport == profiles::SourceTransport::kRtsp) {
    return RtspFeed::Open(source, ring.packet_codec, control);
  }
  return RtpFeed::Open(source, ring, control, std::move(filter));
}

}  // namespace bench
