#include "bench/output_chain.h"

#include <exception>

#include "bench/muxer.h"
#include "bench/stage_cpu.h"

namespace bench {
namespace {

/// Runs `open` then `run` on a new thread; gives open's status once it is known.
template <typename Open, typename Run>
base::Status StartThread(std::jthread& thread, Open open, Run run) {
  std::promise<base::Status> opened;
  auto status = opened.get_future();
  thread = std::jthread([promise = std::move(opened), open, run]() mutable {
    base::Status result = base::Done{};
    try {
      result = open();
    } catch (const std::exception& failure) {
      result = base::Error{base::ErrorKind::kIo, "", failure.what()};
    }
    const bool ready = result.has_value();
    promise.set_value(std::move(result));
    if (ready) {
      run();
    }
  });
  return status.get();
}

const char* KindText(profiles::OutputKind kind) {
  switch (kind) {
    case profiles::OutputKind::kRecording:
      return "recording";
    case profiles::OutputKind::kStream:
      return "stream";
    case profiles::OutputKind::kIso:
      break;
  }
  return "iso";
}

}  // namespace

OutputChain::OutputChain(const OutputPlan& plan, Pacer& pacer, RunControl& control)
    : plan_(plan),
      control_(control),
      entrance_(plan_.taken_rate, plan_.output.rate, pacer.RealTime()),
      encode_(plan_, entrance_, pacer, control),
      write_(plan_, encode_.packets(), entrance_.ledger(), pacer, control) {}

base::Status OutputChain::Start(const AVCodecContext* audio) {
  const auto guarded = [this](const std::string& item, auto work) {
    try {
      work();
    } catch (const std::exception& failure) {
      control_.Stop(item + ": " + failure.what());
    }
  };
  auto encoder = StartThread(
      encode_thread_,
      [this] {
        NameThread(kEncodeThread, plan_.output.name);
        return encode_.Open(WantsGlobalHeader(plan_.format));
      },
      [this, guarded] { guarded(plan_.output.name, [this] { encode_.Run(); }); });
  if (!encoder) {
    return base::Error{encoder.error().kind, plan_.output.name,
                       plan_.encoder + " did not open: " + encoder.error().detail};
  }
  return StartThread(
      write_thread_,
      [this, audio] {
        NameThread(kWriteThread, plan_.output.name);
        return OpenWriter(audio);
      },
      [this, guarded] { guarded(plan_.output.name, [this] { write_.Run(); }); });
}

base::Status OutputChain::OpenWriter(const AVCodecContext* audio) {
  if (plan_.loopback) {
    auto sink = LoopbackSink::Start(plan_.format);
    if (!sink) {
      return sink.error();
    }
    sink_ = std::move(*sink);
    plan_.target = sink_->url();
  }
  return write_.Open(encode_.codec(), audio);
}

void OutputChain::Join() {
  if (encode_thread_.joinable()) {
    encode_thread_.join();
  }
  if (write_thread_.joinable()) {
    write_thread_.join();
  }
  if (sink_) {
    sink_->Join();
  }
}

OutputLedger OutputChain::Account() const {
  const Ledger& ledger = entrance_.ledger();
  const Ledger::Totals totals = ledger.totals();
  OutputLedger account;
  account.name = plan_.output.name;
  account.kind = KindText(plan_.output.kind);
  account.takes = plan_.output.takes;
  account.encoder = plan_.encoder;
  account.encoder_threads = plan_.threads;
  account.due = totals.due;
  account.delivered = totals.delivered;
  account.dropped = totals.dropped;
  account.late = totals.late;
  account.withdrawn = totals.withdrawn;
  account.seconds = ledger.windows();
  account.lateness = ledger.lateness();
  account.bytes = write_.bytes();
  account.encoder_delay_frames = encode_.delay_frames();
  account.encoder_busy = encode_.Busy();
  account.write_busy = write_.Busy();
  if (sink_) {
    account.received = sink_->pictures();
  }
  return account;
}

}  // namespace bench
