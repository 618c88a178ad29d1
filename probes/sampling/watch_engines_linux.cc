// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/watch_engines.h"

#include <algorithm>
#include <filesystem>
#include <iterator>
#include <system_error>

#include "probes/procfs/kept_file.h"

namespace probes {
namespace {

constexpr std::size_t kMostOpen = 128;
constexpr std::size_t kMostEngines = 64;

/// What one client did on one engine between two looks: 1 is one engine all the time.
double ShareOf(const DrmEngine& before, const DrmEngine& now, double seconds) {
  if (now.total_cycles > 0) {
    const double total = Added(now.total_cycles, before.total_cycles);
    return total > 0 ? Added(now.busy_cycles, before.busy_cycles) / total : 0;
  }
  return Added(now.busy_ns, before.busy_ns) / (seconds * 1e9);
}

}  // namespace

EngineWatch::EngineWatch(const base::MachineRoot& root, const Missing& missing)
    : root_(root), missing_(missing) {
  for (const std::string& name : root_.List("/sys/class/drm").value_or({})) {
    any_ = any_ || name.starts_with("card") || name.starts_with("renderD");
  }
  if (!any_) {
    missing_("encoder and decoder load", "no graphics driver that tells it in fdinfo");
  }
}

void EngineWatch::LookInto(int pid) {
  namespace fs = std::filesystem;
  const std::string folder = "/proc/" + std::to_string(pid);
  Forget(pid);
  std::error_code error;
  const fs::path open = root_.folder() / folder.substr(1) / "fd";
  fs::directory_iterator entry(open, error);
  if (error == std::errc::permission_denied) {
    missing_("encoder and decoder load of some programs",
             "only their own user and root may see it");
  }
  for (const fs::directory_iterator end; !error && entry != end; entry.increment(error)) {
    std::error_code gone;
    // Only the link is read: nothing is done to the device.
    const fs::path target = fs::read_symlink(entry->path(), gone);
    if (!gone && target.string().find("/dev/dri/") != std::string::npos &&
        open_.size() < kMostOpen) {
      open_.emplace(pid, folder + "/fdinfo/" + entry->path().filename().string());
    }
  }
}

void EngineWatch::Forget(int pid) {
  open_.erase(open_.lower_bound({pid, ""}), open_.lower_bound({pid + 1, ""}));
}

void EngineWatch::Add(const DrmClient& client, bool own, double seconds, Shares& shares) {
  const std::string device = client.device.empty() ? client.driver : client.device;
  for (const DrmEngine& engine : client.engines) {
    Last& last = last_[{device, client.id, engine.name}];
    if (last.round == round_) {
      continue;  // the same client through a second descriptor
    }
    Share& share = shares[{device, engine.name}];
    share.capacity = std::max(share.capacity, engine.capacity);
    if (last.round != 0 && seconds > 0) {
      const double busy = ShareOf(last.engine, engine, seconds);
      share.all += busy;
      share.own += own ? busy : 0;
    }
    last = {engine, round_};
  }
}

std::size_t EngineWatch::Number(const std::string& device, const std::string& name,
                                WatchDevices& devices) {
  const auto [number, fresh] = numbers_.try_emplace({device, name}, devices.engines.size());
  if (fresh) {
    devices.engines.push_back({device, name});
  }
  return number->second;
}

void EngineWatch::Look(double seconds, const std::set<int>& ours, WatchDevices& devices,
                       WatchSample* sample) {
  ++round_;
  Shares shares;
  for (auto open = open_.begin(); open != open_.end();) {
    const auto text = ReadOnce(root_, open->second);
    const auto client = text ? ParseDrmClient(*text) : std::nullopt;
    if (!client) {
      open = open_.erase(open);
      continue;
    }
    Add(*client, ours.contains(open->first), seconds, shares);
    ++open;
  }
  std::erase_if(last_, [this](const auto& each) { return each.second.round != round_; });
  if (sample == nullptr) {
    return;
  }
  for (const auto& [key, share] : shares) {
    if (numbers_.size() >= kMostEngines && !numbers_.contains(key)) {
      continue;
    }
    const double percent = 100.0 / static_cast<double>(share.capacity);
    sample->engines.push_back({Number(key.first, key.second, devices),
                               std::min(100.0, share.all * percent),
                               std::min(100.0, share.own * percent)});
  }
}

}  // namespace probes
