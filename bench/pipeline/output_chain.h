// SPDX-License-Identifier: Apache-2.0
//
// One output from its encode's packets to its file or stream: its ledger, the write thread, and a
// sink where the stream stays on this PC.

#pragma once

#include <memory>
#include <thread>

#include "bench/pipeline/encode_stage.h"
#include "bench/pipeline/loopback_sink.h"
#include "bench/pipeline/packet_gate.h"
#include "bench/pipeline/write_stage.h"
#include "bench/plan/output_plan.h"

namespace bench {

class OutputChain {
 public:
  OutputChain(const OutputPlan& plan, Pacer& pacer, RunControl& control);

  /// Opens the container for real on its own thread, which then waits for
  /// packets of `encode`, whose encoder is open. `audio` is null without sound.
  base::Status Start(const EncodeStage& encode, const AVCodecContext* audio);
  /// Waits until everything is written.
  void Join();

  Ledger& ledger() { return ledger_; }
  const Ledger& ledger() const { return ledger_; }
  PacketGate& gate() { return gate_; }
  const OutputPlan& plan() const { return plan_; }
  OutputLedger Account() const;
  /// The run is over: what is still in flight was lost in the encoder, or never
  /// came as far and is charged to the stage `before_encode`.
  void LoseInFlight(Stage before_encode);

 private:
  base::Status OpenWriter(const AVCodecContext* audio);

  OutputPlan plan_;
  RunControl& control_;
  Ledger ledger_;
  PacketGate gate_;
  WriteStage write_;
  const EncodeStage* encode_ = nullptr;  // once started
  std::unique_ptr<LoopbackSink> sink_;
  std::jthread thread_;
};

}  // namespace bench
