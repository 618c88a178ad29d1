// SPDX-License-Identifier: Apache-2.0
//
// The receiving end of a stream on this PC: a real server of the protocol that counts pictures.

#pragma once

#include <atomic>
#include <cstdint>
#include <memory>
#include <string>
#include <thread>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "profiles/demand/stream_url.h"

namespace bench {

class LoopbackSink {
 public:
  /// Listens on a free port of 127.0.0.1: for FLV by RTMP, for MPEG-TS by SRT, UDP or TCP (TCP
  /// too where this FFmpeg has no SRT).
  static base::Result<std::unique_ptr<LoopbackSink>> Start(profiles::Transport transport);
  ~LoopbackSink();
  LoopbackSink(const LoopbackSink&) = delete;
  LoopbackSink& operator=(const LoopbackSink&) = delete;

  /// What a sender must connect to.
  const std::string& url() const { return url_; }
  std::int64_t pictures() const { return pictures_; }
  /// Waits until the sender has hung up (or a second has passed without data).
  void Join();

 private:
  struct Ends {
    std::string format;      // FFmpeg's demuxer
    std::string listen_url;  // what the sink opens
    std::string url;         // what a sender opens
  };
  static Ends EndsOf(profiles::Transport transport, int port);
  explicit LoopbackSink(const Ends& ends);
  void Run();

  const std::string format_;
  const std::string listen_url_;
  const std::string url_;
  AVIOContext* io_ = nullptr;  // opened before the thread; null: the thread opens its own
  std::atomic<bool> cancel_{false};
  std::atomic<std::int64_t> pictures_{0};
  std::jthread thread_;
};

}  // namespace bench
