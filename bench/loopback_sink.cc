#include "bench/loopback_sink.h"

#include <chrono>
#include <utility>

#include <fmt/format.h>

#include "base/ffmpeg.h"
#include "bench/free_port.h"
#include "bench/stage_cpu.h"

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

base::Result<std::unique_ptr<LoopbackSink>> LoopbackSink::Start(const std::string& format) {
  const bool srt = format == "mpegts" && HasProtocol("srt");
  const auto port = FreeLoopbackPort(srt ? PortKind::kUdp : PortKind::kTcp);
  if (!port) {
    return port.error();
  }
  std::string url = fmt::format("tcp://127.0.0.1:{}", *port);
  std::string listen_url = url + "?listen=1";
  if (format == "flv") {
    url = fmt::format("rtmp://127.0.0.1:{}/live/rehearsal", *port);
    listen_url = url;
  } else if (srt) {
    url = fmt::format("srt://127.0.0.1:{}", *port);
    listen_url = url + "?mode=listener";
  }
  std::unique_ptr<LoopbackSink> sink(
      new LoopbackSink(format, std::move(listen_url), std::move(url)));
  sink->thread_ = std::jthread([raw = sink.get()] { raw->Run(); });
  return sink;
}

LoopbackSink::LoopbackSink(std::string format, std::string listen_url, std::string url)
    : format_(std::move(format)), listen_url_(std::move(listen_url)), url_(std::move(url)) {}

LoopbackSink::~LoopbackSink() {
  cancel_ = true;
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
