// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/rtsp_feed.h"

#include <algorithm>
#include <chrono>
#include <future>
#include <thread>

#include <fmt/format.h>

#include "bench/feeds/free_port.h"
#include "bench/feeds/rtp_header.h"
#include "bench/stages/stage_cpu.h"

namespace bench {
namespace {

using namespace std::chrono_literals;

constexpr auto kListenerPatience = 5s;
/// Longest wait for what the connection still holds once the camera has hung up.
constexpr std::int64_t kLastLookNs = 500'000'000;
/// Pictures that a camera holds for a connection that takes none, before it
/// leaves some out; common practice is a fraction of a second.
constexpr std::int64_t kMostWaiting = 8;

std::int64_t NowNs() {
  return std::chrono::steady_clock::now().time_since_epoch() / 1ns;
}

std::string Url(int port) {
  return fmt::format("rtsp://127.0.0.1:{}/feed", port);
}

}  // namespace

int RtspFeed::StopWaiting(void* self) {
  const auto& feed = *static_cast<const RtspFeed*>(self);
  const std::int64_t give_up_ns = feed.give_up_ns_;
  const bool late = give_up_ns > 0 && NowNs() > give_up_ns;
  return feed.control_.stopped() || feed.failed_ || late ? 1 : 0;
}

base::Result<std::unique_ptr<NetworkFeed>> RtspFeed::Open(const profiles::Source& source,
                                                          AVCodecID codec,
                                                          const RunControl& control) {
  const auto port = FreeLoopbackPort(PortKind::kTcp);
  if (!port) {
    return port.error();
  }
  std::unique_ptr<RtspFeed> feed(new RtspFeed(source, control));
  auto listening = std::async(std::launch::async, [&] {
    NameThread(kReceiveThread, source.name);
    auto listened = feed->Listen(*port);
    feed->failed_ = feed->failed_ || !listened;
    return listened;
  });
  auto announced = feed->Announce(source, codec, *port);
  feed->failed_ = feed->failed_ || !announced;
  auto listened = listening.get();
  if (!announced || !listened) {
    return !announced ? announced.error() : listened.error();
  }
  return std::unique_ptr<NetworkFeed>(std::move(feed));
}

RtspFeed::~RtspFeed() {
  failed_ = true;  // ends any wait
  RtspFeed::EndSending();
}

base::Status RtspFeed::Listen(int port) {
  AVFormatContext* raw = avformat_alloc_context();
  if (raw == nullptr) {
    return base::FromFfmpeg(AVERROR(ENOMEM), "RTSP receiver");
  }
  raw->interrupt_callback = {StopWaiting, this};
  raw->flags |= AVFMT_FLAG_NOPARSE | AVFMT_FLAG_NOFILLIN | AVFMT_FLAG_NOBUFFER;
  AVDictionary* options = nullptr;
  av_dict_set(&options, "rtsp_flags", "listen", 0);
  const int code =
      avformat_open_input(&raw, Url(port).c_str(), av_find_input_format("rtsp"), &options);
  av_dict_free(&options);
  if (code < 0) {
    return base::FromFfmpeg(code, "RTSP receiver");  // FFmpeg has freed `raw`
  }
  receiver_.reset(raw);
  return base::Done{};
}

base::Status RtspFeed::Announce(const profiles::Source& source, AVCodecID codec, int port) {
  const auto give_up = std::chrono::steady_clock::now() + kListenerPatience;
  for (;;) {
    int code = avformat_alloc_output_context2(&sender_, nullptr, "rtsp", Url(port).c_str());
    AVStream* const stream = code < 0 ? nullptr : avformat_new_stream(sender_, nullptr);
    if (stream == nullptr) {
      return base::FromFfmpeg(AVERROR(ENOMEM), "RTSP sender");
    }
    stream->codecpar->codec_type = AVMEDIA_TYPE_VIDEO;
    stream->codecpar->codec_id = codec;
    stream->codecpar->width = source.raster.width;
    stream->codecpar->height = source.raster.height;
    stream->time_base = {1, kVideoClockHz};
    sender_->interrupt_callback = {StopWaiting, this};
    AVDictionary* options = nullptr;
    av_dict_set(&options, "rtsp_transport", "tcp", 0);
    code = avformat_write_header(sender_, &options);
    av_dict_free(&options);
    if (code >= 0) {
      return base::Done{};
    }
    avformat_free_context(sender_);
    sender_ = nullptr;
    if (failed_ || control_.stopped() || std::chrono::steady_clock::now() >= give_up) {
      return base::FromFfmpeg(code, "RTSP sender");
    }
    std::this_thread::sleep_for(10ms);  // the receiver may not listen yet
  }
}

base::Result<bool> RtspFeed::Send(const AVPacket& picture, std::int64_t index) {
  if (sent_ - taken_ >= kMostWaiting) {
    return false;
  }
  const base::PacketPtr packet = base::Share(picture);
  packet->stream_index = 0;
  packet->pts =
      av_rescale_q(PictureTicks(index, rate_), {1, kVideoClockHz}, sender_->streams[0]->time_base);
  packet->dts = packet->pts;
  std::int64_t none = -1;
  first_sent_.compare_exchange_strong(none, index);
  ++sent_;
  if (const int code = av_write_frame(sender_, packet.get()); code < 0) {
    if (control_.stopped()) {
      return false;
    }
    return base::FromFfmpeg(code, "RTSP sender");
  }
  return true;
}

void RtspFeed::EndSending() {
  if (sender_ != nullptr) {
    av_write_trailer(sender_);
    avformat_free_context(sender_);
    sender_ = nullptr;
  }
  give_up_ns_ = NowNs() + kLastLookNs;
}

std::optional<ReceivedPicture> RtspFeed::Took(
    std::optional<PictureAssembler::Assembled> assembled) {
  if (!assembled) {
    return std::nullopt;
  }
  ++taken_;
  return ReceivedPicture{std::move(assembled->packet), assembled->index, true};
}

base::Result<std::optional<ReceivedPicture>> RtspFeed::Receive() {
  const base::PacketPtr piece = base::NewPacket();
  for (;;) {
    const int code = av_read_frame(receiver_.get(), piece.get());
    if (code < 0) {
      // The camera has hung up, or the run is over: what is left is the last picture.
      const bool ended = give_up_ns_ > 0 || control_.stopped() || code == AVERROR_EOF;
      if (ended) {
        return Took(assembler_.Finish());
      }
      return base::FromFfmpeg(code, "RTSP receiver");
    }
    const std::int64_t ticks =
        av_rescale_q(piece->pts, receiver_->streams[0]->time_base, {1, kVideoClockHz});
    // Nothing is lost on the way, so the first that comes is the first that was sent; FFmpeg
    // counts from a moment of its own.
    if (!ticks_ahead_) {
      ticks_ahead_ = ticks - PictureTicks(first_sent_, rate_);
    }
    const std::int64_t index = PictureAtTicks(ticks - *ticks_ahead_, rate_);
    auto before =
        assembler_.Add(index, {piece->data, static_cast<std::size_t>(std::max(piece->size, 0))});
    av_packet_unref(piece.get());
    if (before) {
      return Took(std::move(before));
    }
  }
}

}  // namespace bench
