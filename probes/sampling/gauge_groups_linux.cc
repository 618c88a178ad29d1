// SPDX-License-Identifier: Apache-2.0
//
// Control groups above a process: how tight their CPU quotas are, how often those hold it back, and
// how often it meets a limit of memory.

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "probes/cpu/cgroup.h"
#include "probes/procfs/kept_file.h"
#include "probes/sampling/gauges.h"

namespace probes {
namespace {

constexpr double kQuotaEverySeconds = 0.95;  // nobody sets one more often

class GroupGauge : public Gauge {
 public:
  GroupGauge(const base::MachineRoot& root, const std::string& process, bool quotas,
             const Missing& missing)
      : root_(root) {
    if (quotas) {
      FindQuotas(process, missing);
    }
    const ControlGroups memory = ReadMemoryGroups(root, process).value_or({});
    for (const std::string& folder : memory.folders) {
      hits_.emplace_back(root,
                         folder + (memory.version == 2 ? "/memory.events" : "/memory.failcnt"));
    }
    if (!ReadLimitHits()) {
      missing("limits of memory groups", "no control group with a memory controller tells");
      hits_.clear();
    }
  }

  void Look(double seconds, WatchSample* sample) override {
    std::vector<QuotaUse> now = ReadQuotaUse();
    if (sample != nullptr && !now.empty()) {
      // A quota may sit on any group above ours; the one that held back most is the one that
      // counts.
      double held = 0;
      double percent = 0;
      for (std::size_t i = 0; i < now.size(); ++i) {
        held = std::max(held, Held(now[i], last_[i]) / seconds);
        percent = std::max(percent, ThrottledPercent(now[i], last_[i]));
      }
      sample->pc.quota_held_cpus = held;
      sample->pc.quota_throttled_percent = percent;
      sample->pc.quota_cpus = Quota(seconds);
    }
    last_ = std::move(now);
    const auto hits = ReadLimitHits();
    if (sample != nullptr && hits && last_hits_) {
      sample->pc.memory_limit_hits_per_second = Added(*hits, *last_hits_) / seconds;
    }
    last_hits_ = hits;
  }

 private:
  void FindQuotas(const std::string& process, const Missing& missing) {
    groups_ = ReadCpuGroups(root_, process).value_or({});
    for (const std::string& folder : groups_.folders) {
      stats_.emplace_back(root_, folder + "/cpu.stat");
    }
    last_ = ReadQuotaUse();
    if (std::none_of(last_.begin(), last_.end(),
                     [](const QuotaUse& use) { return use.throttled_s; })) {
      missing("time held back by a CPU quota", "no control group with a CPU controller tells");
      groups_.folders.clear();
      stats_.clear();
      last_.clear();
    }
  }

  std::vector<QuotaUse> ReadQuotaUse() {
    std::vector<QuotaUse> uses;
    for (KeptFile& stat : stats_) {
      const auto text = stat.Read();
      uses.push_back(text ? ParseQuotaUse(*text) : QuotaUse{});
    }
    return uses;
  }

  std::optional<double> Quota(double seconds) {
    quota_age_s_ += seconds;
    if (quota_age_s_ >= kQuotaEverySeconds) {
      quota_ = ReadCpuQuota(root_, groups_);
      quota_age_s_ = 0;
    }
    return quota_;
  }

  std::optional<std::int64_t> ReadLimitHits() {
    std::optional<std::int64_t> hits;
    for (KeptFile& file : hits_) {
      const auto text = file.Read();
      if (const auto here = text ? ParseLimitHits(*text) : std::nullopt) {
        hits = hits.value_or(0) + *here;
      }
    }
    return hits;
  }

  static double Held(const QuotaUse& now, const QuotaUse& before) {
    return now.throttled_s && before.throttled_s
               ? std::max(0.0, *now.throttled_s - *before.throttled_s)
               : 0;
  }

  static double ThrottledPercent(const QuotaUse& now, const QuotaUse& before) {
    if (!now.periods || !before.periods) {
      return 0;
    }
    const double all = Added(*now.periods, *before.periods);
    const double throttled = Added(now.throttled_periods, before.throttled_periods);
    return all > 0 ? std::min(100.0, 100 * throttled / all) : 0;
  }

  const base::MachineRoot& root_;
  CpuGroups groups_;
  std::vector<KeptFile> stats_;  // of the groups
  std::vector<QuotaUse> last_;
  std::optional<double> quota_;
  double quota_age_s_ = kQuotaEverySeconds;
  std::vector<KeptFile> hits_;  // of the groups of memory
  std::optional<std::int64_t> last_hits_;
};

}  // namespace

GaugePtr MakeGroupGauge(const base::MachineRoot& root, const std::string& process, bool quotas,
                        const Missing& missing) {
  return std::make_unique<GroupGauge>(root, process, quotas, missing);
}

}  // namespace probes
