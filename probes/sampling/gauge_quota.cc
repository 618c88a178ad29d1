// SPDX-License-Identifier: Apache-2.0
//
// CPU quotas of the control groups above a process: how tight, and how often they hold it back.

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "probes/cpu/cgroup.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/telemetry_texts.h"
#include "probes/sampling/telemetry_gauges.h"

namespace probes {
namespace {

struct GroupState {
  std::optional<double> throttled_s;
  std::optional<QuotaPeriods> periods;
};

class QuotaGauge : public Gauge {
 public:
  QuotaGauge(const base::MachineRoot& root, const std::string& process, const Missing& missing)
      : root_(root),
        groups_(ReadCpuGroups(root, process).value_or({})),
        last_(groups_.folders.size()) {
    for (const std::string& folder : groups_.folders) {
      stats_.emplace_back(root, folder + "/cpu.stat");
    }
    const auto states = ReadAll();
    const bool any = std::any_of(states.begin(), states.end(),
                                 [](const GroupState& state) { return state.throttled_s; });
    if (!any) {
      missing("time held back by a CPU quota", "no control group with a CPU controller tells");
      groups_.folders.clear();
      stats_.clear();
      last_.clear();
    }
  }

  void Look(double seconds, TelemetrySample* sample) override {
    std::vector<GroupState> now = ReadAll();
    if (sample != nullptr && !now.empty()) {
      // A quota may sit on any group above ours; the one that held back most is the one that
      // counts.
      double held = 0;
      double percent = 0;
      for (std::size_t i = 0; i < now.size(); ++i) {
        held = std::max(held, Held(now[i], last_[i]) / seconds);
        percent = std::max(percent, ThrottledPercent(now[i], last_[i]));
      }
      sample->quota_held_cpus = held;
      sample->quota_throttled_percent = percent;
      sample->quota_cpus = ReadCpuQuota(root_, groups_);
    }
    last_ = std::move(now);
  }

 private:
  std::vector<GroupState> ReadAll() {
    std::vector<GroupState> states;
    for (KeptFile& stat : stats_) {
      const auto text = stat.Read();
      states.push_back(text ? GroupState{ParseThrottledSeconds(*text), ParseQuotaPeriods(*text)}
                            : GroupState{});
    }
    return states;
  }

  static double Held(const GroupState& now, const GroupState& before) {
    return now.throttled_s && before.throttled_s
               ? std::max(0.0, *now.throttled_s - *before.throttled_s)
               : 0;
  }

  static double ThrottledPercent(const GroupState& now, const GroupState& before) {
    if (!now.periods || !before.periods) {
      return 0;
    }
    const double all = Added(now.periods->all, before.periods->all);
    const double throttled = Added(now.periods->throttled, before.periods->throttled);
    return all > 0 ? std::min(100.0, 100 * throttled / all) : 0;
  }

  const base::MachineRoot& root_;
  CpuGroups groups_;
  std::vector<KeptFile> stats_;  // of the groups
  std::vector<GroupState> last_;
};

}  // namespace

GaugePtr MakeQuotaGauge(const base::MachineRoot& root, const Missing& missing,
                        const std::string& process) {
  return std::make_unique<QuotaGauge>(root, process, missing);
}

}  // namespace probes
