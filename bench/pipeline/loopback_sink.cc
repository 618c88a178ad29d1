// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/loopback_sink.h"

#include <chrono>
#include <utility>

#include <fmt/format.h>

#include "base/media/ffmpeg.h"
#include "bench/feeds/free_port.h"
#include "bench/stages/stage_cpu.h"

namespace bench {
namespace {

int StopWaiting(void* cancel) {
  return static_cast<const std::atomic<bool>*>(cancel)->load() ? 1 : 0;
}

bool HasProtocol(const std::string& wanted) {
  void* state = nullptr;
  while (const char* name = avio_enum_protocols(&state, 0)) {
    if (wanted == name) {
      return true;
    }
  }
  return false;
}

}  // namespace

LoopbackSink::Ends LoopbackSink::EndsOf(profiles::Transport transport, int port) {
  const auto url = [port](const char* scheme) {
    return fmt::format("{}://127.0.0.1:{}", scheme, port);
  };
  switch (transport) {
    case profiles::Transport::kRtmp:
      return {"flv", url("rtmp") + "/live/rehearsal", url("rtmp") + "/live/rehearsal"};
    case profiles::Transport::kSrt:
      return {"mpegts", url("srt") + "?mode=listener", url("srt")};
    case profiles::Transport::kUdp:
      // Seven packets of 188 bytes a datagram (common practice), and a buffer that
      // holds a large picture sent at once.
      return {"mpegts", url("udp") + "?buffer_size=4194304&overrun_nonfatal=1",
              url("udp") + "?pkt_size=1316"};
    case profiles::Transport::kTcp:
      break;
  }
  return {"mpegts", url("tcp") + "?listen=1", url("tcp")};
}

base::Result<std::unique_ptr<LoopbackSink>> LoopbackSink::Start(profiles::Transport transport) {
  using profiles::Transport;
  if (transport == Transport::kSrt && !HasProtocol("srt")) {
    transport = Transport::kTcp;
  }
  const bool datagrams = transport == Transport::kSrt || transport == Transport::kUdp;
  const auto port = FreeLoopbackPort(datagrams ? PortKind::kUdp : PortKind::kTcp);
  if (!port) {
    return port.error();
  }
  const Ends ends = EndsOf(transport, *port);
  std::unique_ptr<LoopbackSink> sink(new LoopbackSink(ends));
  if (transport == Transport::kUdp) {
    // Nobody knocks before sending: the port must be open before a sender knows it.
    const AVIOInterruptCB interrupt{StopWaiting, &sink->cancel_};
    const int code =
        avio_open2(&sink->io_, sink->listen_url_.c_str(), AVIO_FLAG_READ, &interrupt, nullptr);
    if (code < 0) {
      return base::FromFfmpeg(code, "loopback sink");
    }
  }
  sink->thread_ = std::jthread([raw = sink.get()] { raw->Run(); });
  return sink;
}

LoopbackSink::LoopbackSink(const Ends& ends)
    : format_(ends.format), listen_url_(ends.listen_url), url_(ends.url) {}

LoopbackSink::~LoopbackSink() {
  cancel_ = true;
  if (thread_.joinable()) {
    thread_.join();
  }
  avio_closep(&io_);
}

void LoopbackSink::Join() {
  if (thread_.joinable()) {
    std::int64_t seen = -1;
    // The sender has hung up: the server notices at once, unless it never came.
    for (int quiet = 0; quiet < 10 && !cancel_; ++quiet) {
      if (std::exchange(seen, pictures_.load()) != pictures_) {
        quiet = 0;
      }
      std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
    cancel_ = true;
    thread_.join();
  }
}

void LoopbackSink::Run() {
  NameThread(kSinkThread, url_);
  AVFormatContext* raw = avformat_alloc_context();
  if (raw == nullptr) {
    return;
  }
  raw->interrupt_callback = {StopWaiting, &cancel_};
  raw->pb = io_;
  AVDictionary* options = nullptr;
  if (format_ == "flv") {
    av_dict_set(&options, "listen", "1", 0);
  }
  const AVInputFormat* const container = av_find_input_format(format_.c_str());
  const int code = avformat_open_input(&raw, listen_url_.c_str(), container, &options);
  av_dict_free(&options);
  if (code < 0) {
    return;  // FFmpeg has freed `raw`; the sender's own error tells what happened
  }
  const base::InputPtr input(raw);
  const base::PacketPtr packet = base::NewPacket();
  while (av_read_frame(raw, packet.get()) >= 0) {
    const AVCodecParameters& codec = *raw->streams[packet->stream_index]->codecpar;
    if (codec.codec_type == AVMEDIA_TYPE_VIDEO) {
      ++pictures_;
    }
    av_packet_unref(packet.get());
  }
}

}  // namespace bench
