// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/rtp_feed.h"

#include <utility>

namespace bench {

base::Result<std::unique_ptr<NetworkFeed>> RtpFeed::Open(const profiles::Source& source,
                                                         const FeedRing& ring,
                                                         const RunControl& control,
                                                         DatagramFilter filter) {
  auto packetizer = RtpPacketizer::Open(ring.packet_codec, source.raster.width,
                                        source.raster.height, source.rate);
  auto from = UdpSocket::Open();
  auto to = UdpSocket::Open();
  if (!packetizer || !from || !to) {
    return !packetizer ? packetizer.error() : !from ? from.error() : to.error();
  }
  const auto buffer = to->SetReceiveBuffer(WantedSocketBuffer(ring));
  // Cut once for the session's numbers; picture 0 is cut again when it is sent.
  auto first = (*packetizer)->Cut(*ring.packets.front(), 0);
  auto description = (*packetizer)->Description(to->port());
  if (!first || !description || !buffer) {
    return !first ? first.error() : !description ? description.error() : buffer.error();
  }
  const auto header = (*first)->empty()
                          ? std::nullopt
                          : ParseRtpHeader({(*first)->front().data(), (*first)->front().size()});
  if (!header) {
    return base::Error{base::ErrorKind::kIo, source.name, "FFmpeg's RTP muxer wrote no RTP"};
  }
  for (const auto& connected : {from->ConnectTo(to->port()), to->ConnectTo(from->port())}) {
    if (!connected) {
      return connected.error();
    }
  }
  std::unique_ptr<RtpFeed> feed(
      new RtpFeed(std::move(*from), std::move(*packetizer), std::move(filter)));
  feed->buffer_bytes_ = *buffer;
  auto receiver = RtpReceiver::Open(std::move(*to), {*description, source.rate, *header}, control,
                                    [raw = feed.get()](std::int64_t index) {
                                      const std::scoped_lock lock(raw->mutex_);
                                      const auto found = raw->missing_.find(index);
                                      if (found != raw->missing_.end() && found->second > 0) {
                                        --found->second;
                                      }
                                    });
  if (!receiver) {
    return receiver.error();
  }
  feed->receiver_ = std::move(*receiver);
  return std::unique_ptr<NetworkFeed>(std::move(feed));
}

base::Result<bool> RtpFeed::Send(const AVPacket& picture, std::int64_t index) {
  auto cut = packetizer_->Cut(picture, index);
  if (!cut) {
    return cut.error();
  }
  {
    const std::scoped_lock lock(mutex_);
    missing_[index] = (*cut)->size();
  }
  base::Status sent = base::Done{};
  if (!filter_) {
    sent = socket_.Send(**cut);
  } else {
    let_through_.clear();
    for (const Datagram& datagram : **cut) {
      if (filter_(datagrams_sent_++)) {
        let_through_.push_back(datagram);
      }
    }
    sent = socket_.Send(let_through_);
  }
  if (!sent) {
    return sent.error();
  }
  return true;
}

bool RtpFeed::TakeWhole(std::int64_t index) {
  const std::scoped_lock lock(mutex_);
  const auto found = missing_.find(index);
  const bool whole = found != missing_.end() && found->second == 0;
  if (found != missing_.end()) {
    missing_.erase(missing_.begin(), std::next(found));  // those before it will not come any more
  }
  return whole;
}

base::Result<std::optional<ReceivedPicture>> RtpFeed::Receive() {
  auto next = receiver_->Next();
  if (!next) {
    return next.error();
  }
  if (!*next) {
    return std::optional<ReceivedPicture>();
  }
  ReceivedPicture picture{std::move((*next)->packet), (*next)->index, true};
  picture.whole = TakeWhole(picture.index);
  incomplete_ += picture.whole ? 0 : 1;
  return std::optional(std::move(picture));
}

NetworkCounts RtpFeed::counts() const {
  return {receiver_->received(), receiver_->lost(), incomplete_};
}

}  // namespace bench
