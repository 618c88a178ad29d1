// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/output_chain.h"

#include <exception>

#include "bench/stages/stage_cpu.h"
#include "bench/stages/start_thread.h"

namespace bench {

OutputChain::OutputChain(const OutputPlan& plan, Pacer& pacer, RunControl& control)
    : plan_(plan),
      control_(control),
      ledger_(plan_.output.rate),
      gate_(ledger_, plan_.stream() ? Stage::kSend : Stage::kWrite),
      write_(plan_, gate_.queue(), ledger_, pacer, control) {}

base::Status OutputChain::Start(const EncodeStage& encode, const AVCodecContext* audio) {
  encode_ = &encode;
  return StartThread(
      thread_,
      [this, audio] {
        NameThread(kWriteThread, plan_.output.name);
        return OpenWriter(audio);
      },
      [this] {
        try {
          write_.Run();
        } catch (const std::exception& failure) {
          control_.Stop({StopPart::kOutput, plan_.output.name, ShortageText(failure)});
        }
      });
}

base::Status OutputChain::OpenWriter(const AVCodecContext* audio) {
  if (plan_.loopback) {
    auto sink =
        LoopbackSink::Start(profiles::TransportOf(plan_.output.url, plan_.output.container));
    if (!sink) {
      return sink.error();
    }
    sink_ = std::move(*sink);
    plan_.target = sink_->url();
  }
  return write_.Open(encode_->codec(), audio);
}

void OutputChain::Join() {
  if (thread_.joinable()) {
    thread_.join();
  }
  if (sink_) {
    sink_->Join();
  }
}

void OutputChain::LoseInFlight(Stage before_encode) {
  const Ledger::Totals totals = ledger_.totals();
  const std::int64_t in_flight = totals.due - totals.delivered - totals.dropped;
  // A writer settles every packet that it takes, or ends the run.
  const std::int64_t in_encoder = encode_ == nullptr ? 0 : encode_->taken() - encode_->encoded();
  ledger_.LoseInFlight(2 * in_encoder >= in_flight ? Stage::kEncode : before_encode);
}

OutputLedger OutputChain::Account() const {
  const Ledger::Totals totals = ledger_.totals();
  OutputLedger account;
  account.name = plan_.output.name;
  account.kind = plan_.output.kind;
  account.takes = plan_.output.takes;
  account.encoder = plan_.encoder;
  account.encode = plan_.encode_name;
  account.encoder_threads = plan_.threads;
  account.due = totals.due;
  account.delivered = totals.delivered;
  account.dropped = totals.dropped;
  account.late = totals.late;
  account.withdrawn = totals.withdrawn;
  account.seconds = ledger_.windows();
  account.lateness = ledger_.lateness();
  account.bytes = write_.bytes();
  if (encode_ != nullptr) {
    account.encoder_delay_frames = encode_->delay_frames();
    account.encoder_busy = encode_->Busy();
    account.work = JoinSeconds(encode_->work(), write_.work());
  }
  account.write_busy = write_.Busy();
  if (sink_) {
    account.received = sink_->pictures();
  }
  return account;
}

}  // namespace bench
