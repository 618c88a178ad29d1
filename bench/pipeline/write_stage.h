// SPDX-License-Identifier: Apache-2.0
//
// The last stage of one output: packets into the container, and frames off the ledger.

#pragma once

#include <atomic>
#include <cstdint>
#include <memory>

#include "bench/pipeline/ledger.h"
#include "bench/pipeline/muxer.h"
#include "bench/pipeline/write_item.h"
#include "bench/plan/output_plan.h"
#include "bench/stages/bounded_queue.h"
#include "bench/stages/busy_seconds.h"
#include "bench/stages/pacer.h"
#include "bench/stages/run_control.h"

namespace bench {

class WriteStage {
 public:
  WriteStage(const OutputPlan& plan, BoundedQueue<WriteItem>& packets, Ledger& ledger, Pacer& pacer,
             RunControl& control);

  base::Status Open(const AVCodecContext* video, const AVCodecContext* audio);
  /// Until the queue is closed and empty; finishes the container.
  void Run();

  std::int64_t bytes() const { return bytes_; }
  double Busy() const;
  /// Time in the writer, packet by packet; in real time only.
  const BusySeconds& work() const { return work_; }

 private:
  void Settle(const WriteItem& item, std::int64_t index);

  const OutputPlan& plan_;
  BoundedQueue<WriteItem>& packets_;
  Ledger& ledger_;
  Pacer& pacer_;
  RunControl& control_;
  std::atomic<bool> cancel_{false};
  std::unique_ptr<Muxer> muxer_;
  std::atomic<std::int64_t> bytes_{0};
  std::atomic<std::int64_t> busy_ns_{0};
  std::atomic<std::int64_t> elapsed_ns_{0};
  BusySeconds work_;
};

}  // namespace bench
