// SPDX-License-Identifier: Apache-2.0
//
// The way of a network source's pictures from a simulated camera, over real sockets of this PC,
// to a receiver.

#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/feeds/feed_ring.h"
#include "bench/stages/run_control.h"
#include "profiles/profile.h"

namespace bench {

/// One compressed picture as the receiver put it together.
struct ReceivedPicture {
  base::PacketPtr packet;
  std::int64_t index = 0;
  bool whole = true;  // false: a packet of it is missing
};

/// What went over the sockets so far.
struct NetworkCounts {
  std::int64_t packets_received = 0;
  std::int64_t packets_lost = 0;  // by gaps in the sequence numbers
  std::int64_t pictures_incomplete = 0;
};

/// Send() and EndSending() belong to one thread, Receive() to another. All waits
/// end soon after the run's control has stopped.
class NetworkFeed {
 public:
  virtual ~NetworkFeed() = default;

  /// Sends the picture at once. False: the link takes no more, and the camera left it out.
  virtual base::Result<bool> Send(const AVPacket& picture, std::int64_t index) = 0;
  /// No more pictures come.
  virtual void EndSending() = 0;
  /// The next picture; waits. Nothing once the sender has ended and all is read.
  virtual base::Result<std::optional<ReceivedPicture>> Receive() = 0;

  virtual NetworkCounts counts() const = 0;
  /// Room that the kernel granted the receiving socket; 0 when it sizes it by itself.
  virtual std::int64_t socket_buffer_bytes() const = 0;
  /// How many frame periods after its moment a picture is known to be whole.
  virtual int delay_frames() const = 0;
};

/// True lets the datagram of that number (from 0) through: tests lose some on purpose.
using DatagramFilter = std::function<bool(std::int64_t number)>;

/// Opens sender and receiver by the source's transport. `ring` holds its
/// packets. `control` outlives the feed.
base::Result<std::unique_ptr<NetworkFeed>> OpenNetworkFeed(const profiles::Source& source,
                                                           const FeedRing& ring,
                                                           const RunControl& control,
                                                           DatagramFilter filter = {});

/// The receive buffer that is asked for: room for the two largest pictures of the ring that
/// come at once, and not below what FFmpeg's own UDP receiver asks for.
std::int64_t WantedSocketBuffer(const FeedRing& ring);

}  // namespace bench
