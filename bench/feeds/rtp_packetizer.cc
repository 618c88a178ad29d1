// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/rtp_packetizer.h"

#include <array>

#include <fmt/format.h>

#include "bench/feeds/rtp_header.h"

namespace bench {
namespace {

constexpr int kIoBufferBytes = 1 << 16;

base::Error Failed(int code) {
  return base::FromFfmpeg(code, "RTP sender");
}

}  // namespace

base::Result<std::unique_ptr<RtpPacketizer>> RtpPacketizer::Open(AVCodecID codec, int width,
                                                                 int height,
                                                                 const base::Rational& rate) {
  std::unique_ptr<RtpPacketizer> packetizer(new RtpPacketizer(rate));
  if (auto started = packetizer->Start(codec, width, height); !started) {
    return started.error();
  }
  return packetizer;
}

base::Status RtpPacketizer::Start(AVCodecID codec, int width, int height) {
  if (const int code = avformat_alloc_output_context2(&format_, nullptr, "rtp", nullptr);
      code < 0) {
    return Failed(code);
  }
  AVStream* const stream = avformat_new_stream(format_, nullptr);
  auto* buffer = static_cast<unsigned char*>(av_malloc(kIoBufferBytes));
  if (buffer != nullptr) {
    io_ = avio_alloc_context(buffer, kIoBufferBytes, 1, this, nullptr, TakeDatagram, nullptr);
  }
  if (io_ == nullptr || stream == nullptr) {
    if (io_ == nullptr) {
      av_free(buffer);
    }
    return Failed(AVERROR(ENOMEM));
  }
  stream->codecpar->codec_type = AVMEDIA_TYPE_VIDEO;
  stream->codecpar->codec_id = codec;
  stream->codecpar->width = width;
  stream->codecpar->height = height;
  stream->time_base = {1, kVideoClockHz};
  io_->max_packet_size = kDatagramBytes;
  format_->pb = io_;
  AVDictionary* options = nullptr;
  av_dict_set(&options, "rtpflags", "skip_rtcp", 0);  // this port carries media only
  const int written = avformat_write_header(format_, &options);
  av_dict_free(&options);
  if (written < 0) {
    return Failed(written);
  }
  header_written_ = true;
  return base::Done{};
}

RtpPacketizer::~RtpPacketizer() {
  if (header_written_) {
    av_write_trailer(format_);
  }
  avformat_free_context(format_);
  if (io_ != nullptr) {
    av_freep(&io_->buffer);
    avio_context_free(&io_);
  }
}

int RtpPacketizer::TakeDatagram(void* self, std::uint8_t* data, int size) {
  auto& packetizer = *static_cast<RtpPacketizer*>(self);
  if (packetizer.used_ == packetizer.datagrams_.size()) {
    packetizer.datagrams_.emplace_back();
  }
  packetizer.datagrams_[packetizer.used_++].assign(data, data + size);
  return size;
}

base::Result<const std::vector<Datagram>*> RtpPacketizer::Cut(const AVPacket& picture,
                                                              std::int64_t index) {
  const base::PacketPtr packet = base::Share(picture);
  packet->stream_index = 0;
  packet->pts = PictureTicks(index, rate_);
  packet->dts = packet->pts;
  used_ = 0;
  if (const int code = av_write_frame(format_, packet.get()); code < 0) {
    return Failed(code);
  }
  datagrams_.resize(used_);
  return &datagrams_;
}

base::Result<std::string> RtpPacketizer::Description(int port) const {
  av_freep(&format_->url);
  format_->url = av_strdup(fmt::format("rtp://127.0.0.1:{}", port).c_str());
  std::array<char, 2048> text{};
  AVFormatContext* one = format_;
  if (const int code = av_sdp_create(&one, 1, text.data(), static_cast<int>(text.size()));
      code < 0) {
    return Failed(code);
  }
  return std::string(text.data());
}

}  // namespace bench
