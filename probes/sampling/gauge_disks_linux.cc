// SPDX-License-Identifier: Apache-2.0
//
// What disks do, and what a process has them do.

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/text.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/process_texts.h"
#include "probes/procfs/system_texts.h"
#include "probes/sampling/gauges.h"

namespace probes {
namespace {

constexpr double kSectorBytes = 512;  // of diskstats, whatever the disk's own
constexpr std::size_t kMostDisks = 32;
constexpr std::size_t kLongestName = 40;

WatchDiskSample DiskSample(const DiskCounters& before, const DiskCounters& now, double seconds) {
  const double ms = seconds * 1000;
  WatchDiskSample made;
  made.read_bytes_per_second =
      Added(now.sectors_read, before.sectors_read) * kSectorBytes / seconds;
  made.write_bytes_per_second =
      Added(now.sectors_written, before.sectors_written) * kSectorBytes / seconds;
  made.busy_percent = std::min(100.0, 100 * Added(now.busy_ms, before.busy_ms) / ms);
  made.queue = Added(now.weighted_ms, before.weighted_ms) / ms;
  const double reads = Added(now.reads, before.reads);
  const double writes = Added(now.writes, before.writes);
  if (reads > 0) {
    made.read_ms = Added(now.read_ms, before.read_ms) / reads;
  }
  if (writes > 0) {
    made.write_ms = Added(now.write_ms, before.write_ms) / writes;
  }
  return made;
}

class DiskGauge : public Gauge {
 public:
  DiskGauge(const base::MachineRoot& root, WatchDevices& devices, std::string only,
            const Missing& missing)
      : root_(root),
        devices_(devices),
        only_(std::move(only)),
        diskstats_(root, "/proc/diskstats"),
        missing_(missing) {}

  void Look(double seconds, WatchSample* sample) override {
    ++look_;
    const auto text = diskstats_.Read();
    if (text) {
      ParseDisks(*text, counters_);
    }
    if (sample == nullptr && !text) {
      missing_(only_.empty() ? "disks" : "disk writes", text.error().detail);
    }
    if (!text) {
      return;
    }
    for (const DiskCounters& now : counters_) {
      LookAtDisk(now, seconds, sample);
    }
    if (sample == nullptr && !only_.empty() && disks_.empty()) {
      missing_("disk writes", "no line for " + base::Printable(only_, kLongestName));
    }
  }

 private:
  struct Disk {
    DiskCounters last;
    bool whole = false;  // or the one that is asked for
    int seen = 0;        // at which look
    std::optional<std::size_t> number;
  };

  void LookAtDisk(const DiskCounters& now, double seconds, WatchSample* sample) {
    if (!only_.empty() && now.name != only_) {
      return;
    }
    auto known = disks_.find(now.name);
    if (known == disks_.end()) {
      const std::string name = base::Printable(now.name, kLongestName);
      known = disks_.try_emplace(std::string(now.name)).first;
      known->second.whole = !only_.empty() || IsDisk(name);
      if (known->second.whole && devices_.disks.size() < kMostDisks) {
        known->second.number = devices_.disks.size();
        const auto spinning = root_.ReadInt("/sys/block/" + name + "/queue/rotational");
        devices_.disks.push_back({name, spinning ? std::optional(*spinning == 1) : std::nullopt});
      }
    }
    Disk& disk = known->second;
    if (sample != nullptr && disk.seen == look_ - 1 && disk.number) {
      WatchDiskSample made = DiskSample(disk.last, now, seconds);
      made.disk = *disk.number;
      sample->disks.push_back(made);
    }
    disk.last = now;
    disk.last.name = {};  // the text goes
    disk.seen = look_;
  }

  bool IsDisk(const std::string& name) const {
    constexpr std::array<std::string_view, 5> kNone{"ram", "loop", "zram", "sr", "fd"};
    const bool none = std::any_of(kNone.begin(), kNone.end(), [&](std::string_view prefix) {
      return name.starts_with(prefix) && name.size() > prefix.size() &&
             name[prefix.size()] >= '0' && name[prefix.size()] <= '9';
    });
    // "/" in a name is "!" in the folder's.
    std::string folder = name;
    std::replace(folder.begin(), folder.end(), '/', '!');
    return !none && root_.Exists("/sys/block/" + folder);
  }

  const base::MachineRoot& root_;
  WatchDevices& devices_;
  const std::string only_;
  KeptFile diskstats_;
  const Missing missing_;
  std::vector<DiskCounters> counters_;  // kept for its memory
  std::map<std::string, Disk, std::less<>> disks_;
  int look_ = 0;
};

class DiskUseGauge : public Gauge {
 public:
  DiskUseGauge(const base::MachineRoot& root, int pid, const Missing& missing)
      : io_(root, "/proc/" + std::to_string(pid) + "/io"), missing_(missing) {}

  void Look(double seconds, WatchSample* sample) override {
    const auto text = io_.Read();
    const auto bytes = text ? ParseProcessIo(*text).disk_bytes : std::nullopt;
    if (!bytes && sample == nullptr) {
      missing_("what our process reads and writes of disks",
               text ? "not the counters of a process" : text.error().detail);
    }
    if (bytes && last_ && sample != nullptr) {
      sample->pc.own_disk_bytes_per_second = Added(*bytes, *last_) / seconds;
    }
    last_ = bytes;
  }

 private:
  KeptFile io_;
  const Missing missing_;
  std::optional<std::int64_t> last_;
};

}  // namespace

GaugePtr MakeDiskGauge(const base::MachineRoot& root, WatchDevices& devices,
                       const std::string& only, const Missing& missing) {
  return std::make_unique<DiskGauge>(root, devices, only, missing);
}

GaugePtr MakeDiskUseGauge(const base::MachineRoot& root, int pid, const Missing& missing) {
  return std::make_unique<DiskUseGauge>(root, pid, missing);
}

}  // namespace probes
