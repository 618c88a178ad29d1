// SPDX-License-Identifier: Apache-2.0
//
// The receiving end of a stream on this PC: a real server of the protocol that counts pictures.

#pragma once

#include <atomic>
#include <cstdint>
#include <string>
#include <thread>

#include "base/result.h"

namespace bench {

class LoopbackSink {
 public:
  /// Listens on a free port of 127.0.0.1. `format` "flv" is served by RTMP,
  /// "mpegts" by SRT (by TCP where this FFmpeg has no SRT).
  static base::Result<std::unique_ptr<LoopbackSink>> Start(const std::string& format);
  ~LoopbackSink();
  LoopbackSink(const LoopbackSink&) = delete;
  LoopbackSink& operator=(const LoopbackSink&) = delete;

  /// What a sender must connect to.
  const std::string& url() const { return url_; }
  std::int64_t pictures() const { return pictures_; }
  /// Waits until the sender has hung up (or a second has passed without data).
  void Join();

 private:
  LoopbackSink(std::string format, std::string listen_url, std::string url);
  void Run();

  const std::string format_;
  const std::string listen_url_;
  const std::string url_;
  std::atomic<bool> cancel_{false};
  std::atomic<std::int64_t> pictures_{0};
  std::jthread thread_;
};

}  // namespace bench
