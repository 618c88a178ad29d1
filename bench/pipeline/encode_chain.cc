// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/encode_chain.h"

#include <algorithm>
#include <exception>

#include "bench/pipeline/muxer.h"
#include "bench/stages/stage_cpu.h"
#include "bench/stages/start_thread.h"

namespace bench {
namespace {

std::vector<Ledger*> LedgersOf(const std::vector<OutputChain*>& sharers) {
  std::vector<Ledger*> ledgers;
  ledgers.reserve(sharers.size());
  for (OutputChain* sharer : sharers) {
    ledgers.push_back(&sharer->ledger());
  }
  return ledgers;
}

std::vector<PacketGate*> GatesOf(const std::vector<OutputChain*>& sharers) {
  std::vector<PacketGate*> gates;
  gates.reserve(sharers.size());
  for (OutputChain* sharer : sharers) {
    gates.push_back(&sharer->gate());
  }
  return gates;
}

bool AnyWantsGlobalHeader(const std::vector<OutputChain*>& sharers) {
  return std::any_of(sharers.begin(), sharers.end(), [](const OutputChain* sharer) {
    return WantsGlobalHeader(sharer->plan().format);
  });
}

}  // namespace

EncodeChain::EncodeChain(const std::vector<OutputChain*>& sharers, Pacer& pacer,
                         RunControl& control)
    : plan_(sharers.front()->plan()),
      global_header_(AnyWantsGlobalHeader(sharers)),
      control_(control),
      entrance_(plan_.taken_rate, plan_.output.rate, pacer.RealTime(), LedgersOf(sharers)),
      encode_(plan_, entrance_, GatesOf(sharers), pacer, control) {}

base::Status EncodeChain::Start() {
  auto opened = StartThread(
      thread_,
      [this] {
        NameThread(kEncodeThread, plan_.encode_name);
        return encode_.Open(global_header_);
      },
      [this] {
        try {
          encode_.Run();
        } catch (const std::exception& failure) {
          control_.Stop({StopPart::kEncode, plan_.encode_name, ShortageText(failure)});
        }
      });
  if (!opened) {
    return base::Error{opened.error().kind, plan_.encode_name,
                       plan_.encoder + " did not open: " + opened.error().detail};
  }
  return base::Done{};
}

void EncodeChain::Join() {
  if (thread_.joinable()) {
    thread_.join();
  }
}

}  // namespace bench
