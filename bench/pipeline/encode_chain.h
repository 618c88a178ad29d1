// SPDX-License-Identifier: Apache-2.0
//
// One encode from its entrance to the writers of all outputs that share it.

#pragma once

#include <thread>
#include <vector>

#include "bench/pipeline/encode_stage.h"
#include "bench/pipeline/output_chain.h"
#include "bench/pipeline/output_entrance.h"
#include "bench/plan/output_plan.h"

namespace bench {

class EncodeChain {
 public:
  /// `sharers` ask for the same encode, are at least one, and outlive the chain.
  EncodeChain(const std::vector<OutputChain*>& sharers, Pacer& pacer, RunControl& control);

  /// Opens the encoder for real on its own thread, which then waits for pictures.
  base::Status Start();
  /// Waits until every picture is handed to the writers.
  void Join();

  OutputEntrance& entrance() { return entrance_; }
  const EncodeStage& stage() const { return encode_; }
  /// The plan of the first sharer: as far as the encode goes, that of all.
  const OutputPlan& plan() const { return plan_; }

 private:
  const OutputPlan plan_;
  const bool global_header_;  // some sharer's container keeps parameter sets apart
  RunControl& control_;
  OutputEntrance entrance_;
  EncodeStage encode_;
  std::jthread thread_;
};

}  // namespace bench
