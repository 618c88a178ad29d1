// SPDX-License-Identifier: Apache-2.0
//
// One output from its entrance to its file or stream: the encode and write threads, and a sink
// where the stream stays on this PC.

#pragma once

#include <cstdint>
#include <future>
#include <memory>
#include <thread>

#include "bench/encode_stage.h"
#include "bench/loopback_sink.h"
#include "bench/output_entrance.h"
#include "bench/output_plan.h"
#include "bench/write_stage.h"

namespace bench {

class OutputChain {
 public:
  OutputChain(const OutputPlan& plan, Pacer& pacer, RunControl& control);

  /// Opens encoder and container for real, each on its own thread, and leaves
  /// the threads waiting for pictures. `audio` is null without sound.
  base::Status Start(const AVCodecContext* audio);
  /// Waits until everything is written.
  void Join();

  OutputEntrance& entrance() { return entrance_; }
  BoundedQueue<WriteItem>& packets() { return encode_.packets(); }
  const OutputPlan& plan() const { return plan_; }
  OutputLedger Account() const;

 private:
  base::Status OpenWriter(const AVCodecContext* audio);

  OutputPlan plan_;
  RunControl& control_;
  OutputEntrance entrance_;
  EncodeStage encode_;
  WriteStage write_;
  std::unique_ptr<LoopbackSink> sink_;
  std::jthread encode_thread_;
  std::jthread write_thread_;
};

}  // namespace bench
