// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/process_sums.h"

#include <algorithm>
#include <string>

#include "probes/procfs/kept_file.h"

namespace probes {
namespace {

std::int64_t UsedBy(const KnownProcess& process) {
  return std::max<std::int64_t>(0, process.latest.own - process.before);
}

}  // namespace

ProcessSums::ProcessSums(const base::MachineRoot& root, ProcessTable& table,
                         std::function<bool(int pid)> is_ours)
    : root_(root), table_(table), is_ours_(std::move(is_ours)) {
  table.OnGone([this](const KnownProcess& process) {
    if (!is_ours_(process.latest.pid) && UsedBy(process) > 0) {
      gone_.push_back(process);
    }
  });
}

void ProcessSums::ForEachOther(const std::function<void(const KnownProcess&)>& take) const {
  for (const KnownProcess& process : gone_) {
    take(process);
  }
  for (const auto& [pid, process] : table_.all()) {
    if (!is_ours_(pid)) {
      take(process);
    }
  }
}

std::vector<ProcessShare> ProcessSums::Busiest(std::size_t most, double ticks_per_second) const {
  std::vector<ProcessShare> shares;
  ForEachOther([&](const KnownProcess& process) {
    if (UsedBy(process) > 0 && !table_.OfKernel(process.latest)) {
      shares.push_back({process.latest.name, process.latest.pid,
                        static_cast<double>(UsedBy(process)) / ticks_per_second});
    }
  });
  std::stable_sort(shares.begin(), shares.end(), [](const ProcessShare& a, const ProcessShare& b) {
    return a.cpu_seconds > b.cpu_seconds;
  });
  shares.resize(std::min(shares.size(), most));
  return shares;
}

std::optional<std::int64_t> ProcessSums::KernelTicks() const {
  std::optional<std::int64_t> ticks;
  ForEachOther([&](const KnownProcess& process) {
    if (table_.OfKernel(process.latest)) {
      ticks = ticks.value_or(0) + UsedBy(process);
    }
  });
  return ticks;
}

void ProcessSums::LookAtDisks() {
  for (const auto& [pid, process] : table_.all()) {
    if (is_ours_(pid) || table_.OfKernel(process.latest)) {
      continue;
    }
    const auto text = ReadOnce(root_, "/proc/" + std::to_string(pid) + "/io");
    const auto bytes = text ? ParseProcessIo(*text).disk_bytes : std::nullopt;
    if (!bytes) {
      continue;  // another user's, or it has ended
    }
    DiskUse& use = disks_[{pid, process.latest.start}];
    use.latest = {process.latest.name, pid, static_cast<double>(*bytes)};
    if (!disks_seen_) {
      use.before = use.latest.bytes;
    }
  }
  disks_seen_ = true;
}

std::optional<std::vector<ProcessBytes>> ProcessSums::DiskUsers(std::size_t most) const {
  if (disks_.empty()) {
    return std::nullopt;
  }
  std::vector<ProcessBytes> users;
  for (const auto& [key, use] : disks_) {
    if (use.latest.bytes > use.before) {
      users.push_back({use.latest.name, use.latest.pid, use.latest.bytes - use.before});
    }
  }
  std::stable_sort(users.begin(), users.end(),
                   [](const ProcessBytes& a, const ProcessBytes& b) { return a.bytes > b.bytes; });
  users.resize(std::min(users.size(), most));
  return users;
}

}  // namespace probes
