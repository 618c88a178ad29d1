// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/same_machine.h"

#include <cmath>

#include <fmt/format.h>

#include "base/text.h"

namespace cli {
namespace {

template <typename T>
std::string Differs(const char* what, const base::Reading<T>& stored,
                    const base::Reading<T>& here) {
  if (!stored.known() || !here.known() || *stored == *here) {
    return "";
  }
  return fmt::format("{}: {} in the result, {} here", what, *stored, *here);
}

}  // namespace

std::string WhyNotThisPc(const probes::Inventory& stored, const probes::Inventory& here) {
  if (!stored.live) {
    return "the result is of a machine captured elsewhere";
  }
  for (const std::string& why : {Differs("CPU", stored.cpu.model, here.cpu.model),
                                 Differs("CPU threads", stored.cpu.threads, here.cpu.threads),
                                 Differs("CPU packages", stored.cpu.packages, here.cpu.packages)}) {
    if (!why.empty()) {
      return base::Printable(why);
    }
  }
  // A kernel update moves the memory that is left for programs by a little.
  constexpr double kSameMemory = 0.02;
  const auto& was = stored.cpu.memory_bytes;
  const auto& is = here.cpu.memory_bytes;
  if (was.known() && is.known() &&
      std::abs(static_cast<double>(*was) - static_cast<double>(*is)) >
          kSameMemory * static_cast<double>(*was)) {
    return fmt::format("memory: {} in the result, {} here",
                       base::FormatBytes(static_cast<double>(*was)),
                       base::FormatBytes(static_cast<double>(*is)));
  }
  constexpr double kSameCpus = 0.01;
  const auto& had = stored.cpu.usable_cpus;
  const auto& have = here.cpu.usable_cpus;
  if (had.known() && have.known() && std::abs(*had - *have) > kSameCpus * *had) {
    return fmt::format("usable CPUs: {:.3g} in the result, {:.3g} here", *had, *have);
  }
  return "";
}

}  // namespace cli
