// SPDX-License-Identifier: Apache-2.0
//
// Memory that is left, file data that waits in it for a disk, and signs that it runs out.

#include <optional>
#include <string>

#include "probes/procfs/kept_file.h"
#include "probes/procfs/system_texts.h"
#include "probes/sampling/gauges.h"

namespace probes {
namespace {

constexpr double kPageBytes = 4096;  // x86; a bound from below elsewhere

using Count = std::optional<std::int64_t>;

std::optional<double> Rate(const Count& now, const Count& before, double seconds) {
  return now && before ? std::optional(Added(*now, *before) / seconds) : std::nullopt;
}

std::optional<double> Bytes(const Count& count) {
  return count ? std::optional(static_cast<double>(*count)) : std::nullopt;
}

class MemoryGauge : public Gauge {
 public:
  MemoryGauge(const base::MachineRoot& root, const Missing& missing)
      : vmstat_(root, "/proc/vmstat"), meminfo_(root, "/proc/meminfo") {
    if (!vmstat_.Read()) {
      missing("swapping", "no /proc/vmstat");
    }
  }

  void Look(double seconds, WatchSample* sample) override {
    const auto text = vmstat_.Read();
    const MemoryEvents now = text ? ParseVmStat(*text) : MemoryEvents{};
    if (sample != nullptr) {
      PutEvents(now, seconds, sample->pc);
      PutSizes(sample->pc);
    }
    last_ = now;
  }

 private:
  void PutEvents(const MemoryEvents& now, double seconds, TelemetrySample& pc) const {
    pc.reclaim_stalls_per_second = Rate(now.reclaim_stalls, last_.reclaim_stalls, seconds);
    const auto in = Rate(now.pages_swapped_in, last_.pages_swapped_in, seconds);
    const auto out = Rate(now.pages_swapped_out, last_.pages_swapped_out, seconds);
    if (in && out) {
      pc.swapped_bytes_per_second = (*in + *out) * kPageBytes;
    }
  }

  void PutSizes(TelemetrySample& pc) {
    const auto text = meminfo_.Read();
    const MemInfo info = text ? ParseMemInfo(*text) : MemInfo{};
    if (info.dirty_bytes) {
      pc.dirty_bytes = static_cast<double>(*info.dirty_bytes) +
                       static_cast<double>(info.writeback_bytes.value_or(0));
    }
    pc.writeback_bytes = Bytes(info.writeback_bytes);
    pc.available_bytes = Bytes(info.available_bytes);
  }

  KeptFile vmstat_;
  KeptFile meminfo_;
  MemoryEvents last_;
};

}  // namespace

GaugePtr MakeMemoryGauge(const base::MachineRoot& root, const Missing& missing) {
  return std::make_unique<MemoryGauge>(root, missing);
}

}  // namespace probes
