// SPDX-License-Identifier: Apache-2.0
//
// Signs that memory runs out: swapping, reclaim, limits of groups, faults that needed a disk.

#include <optional>
#include <string>
#include <vector>

#include "probes/cpu/cgroup.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/proc_texts.h"
#include "probes/procfs/telemetry_texts.h"
#include "probes/sampling/telemetry_gauges.h"

namespace probes {
namespace {

constexpr double kPageBytes = 4096;  // x86; a bound from below elsewhere

using Count = std::optional<std::int64_t>;

std::optional<double> Rate(const Count& now, const Count& before, double seconds) {
  return now && before ? std::optional(Added(*now, *before) / seconds) : std::nullopt;
}

class MemoryGauge : public Gauge {
 public:
  MemoryGauge(const base::MachineRoot& root, int own_pid, const std::string& process,
              const Missing& missing)
      : vmstat_(root, "/proc/vmstat"),
        own_stat_(root, "/proc/" + std::to_string(own_pid) + "/stat"),
        groups_(ReadMemoryGroups(root, process).value_or({})) {
    for (const std::string& folder : groups_.folders) {
      hits_.emplace_back(root,
                         folder + (groups_.version == 2 ? "/memory.events" : "/memory.failcnt"));
    }
    if (!ReadLimitHits()) {
      missing("limits of memory groups", "no control group with a memory controller tells");
      hits_.clear();
    }
    if (!vmstat_.Read()) {
      missing("swapping", "no /proc/vmstat");
    }
  }

  void Look(double seconds, TelemetrySample* sample) override {
    State now;
    if (const auto text = vmstat_.Read()) {
      now.events = ParseVmStat(*text);
    }
    const auto stat = own_stat_.Read();
    const auto own = stat ? ParseProcessTicks(*stat) : base::Result<ProcessTicks>(stat.error());
    if (own) {
      now.major_faults = own->major_faults;
    }
    now.limit_hits = ReadLimitHits();
    if (sample != nullptr) {
      Put(now, seconds, *sample);
    }
    last_ = now;
  }

 private:
  struct State {
    MemoryEvents events;
    Count major_faults;
    Count limit_hits;
  };

  Count ReadLimitHits() {
    Count hits;
    for (KeptFile& file : hits_) {
      const auto text = file.Read();
      if (const auto here = text ? ParseLimitHits(*text) : std::nullopt) {
        hits = hits.value_or(0) + *here;
      }
    }
    return hits;
  }

  void Put(const State& now, double seconds, TelemetrySample& sample) const {
    sample.major_faults_per_second = Rate(now.major_faults, last_.major_faults, seconds);
    sample.memory_limit_hits_per_second = Rate(now.limit_hits, last_.limit_hits, seconds);
    sample.reclaim_stalls_per_second =
        Rate(now.events.reclaim_stalls, last_.events.reclaim_stalls, seconds);
    const auto in = Rate(now.events.pages_swapped_in, last_.events.pages_swapped_in, seconds);
    const auto out = Rate(now.events.pages_swapped_out, last_.events.pages_swapped_out, seconds);
    if (in && out) {
      sample.swapped_bytes_per_second = (*in + *out) * kPageBytes;
    }
  }

  KeptFile vmstat_;
  KeptFile own_stat_;
  ControlGroups groups_;
  std::vector<KeptFile> hits_;  // of the groups
  State last_;
};

}  // namespace

GaugePtr MakeMemoryGauge(const base::MachineRoot& root, int own_pid, const Missing& missing,
                         const std::string& process) {
  return std::make_unique<MemoryGauge>(root, own_pid, process, missing);
}

}  // namespace probes
