// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/watch_devices.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

#include "base/text.h"
#include "probes/procfs/telemetry_texts.h"
#include "probes/watch_log/fields.h"

namespace probes {
namespace {

constexpr double kSectorBytes = 512;  // of diskstats, whatever the disk's own
constexpr std::size_t kMostLinks = 16;
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

}  // namespace

DiskWatch::DiskWatch(const base::MachineRoot& root, const Missing& missing)
    : root_(root), diskstats_(root, "/proc/diskstats"), missing_(missing) {}

bool DiskWatch::IsDisk(const std::string& name) {
  const auto known = known_.find(name);
  if (known != known_.end()) {
    return known->second;
  }
  constexpr std::array<std::string_view, 5> kNone{"ram", "loop", "zram", "sr", "fd"};
  const bool none = std::any_of(kNone.begin(), kNone.end(), [&](std::string_view prefix) {
    return name.starts_with(prefix) && name.size() > prefix.size() && name[prefix.size()] >= '0' &&
           name[prefix.size()] <= '9';
  });
  // "/" in a name is "!" in the folder's.
  std::string folder = name;
  std::replace(folder.begin(), folder.end(), '/', '!');
  const bool disk = !none && root_.Exists("/sys/block/" + folder);
  known_[name] = disk;
  return disk;
}

void DiskWatch::Look(double seconds, WatchDevices& devices, WatchSample* sample) {
  const auto text = diskstats_.Read();
  if (!text) {
    if (sample == nullptr) {
      missing_("disks", text.error().detail);
    }
    return;
  }
  ParseDisks(*text, counters_);
  for (const DiskCounters& now : counters_) {
    const std::string name = base::Printable(now.name, kLongestName);
    if (!IsDisk(name)) {
      continue;
    }
    Disk& disk = disks_[name];
    if (!disk.number && devices.disks.size() < kMostDisks) {
      disk.number = devices.disks.size();
      const auto spinning = root_.ReadInt("/sys/block/" + name + "/queue/rotational");
      devices.disks.push_back({name, spinning ? std::optional(*spinning == 1) : std::nullopt});
    }
    if (sample != nullptr && disk.seen && disk.number) {
      WatchDiskSample made = DiskSample(disk.last, now, seconds);
      made.disk = *disk.number;
      sample->disks.push_back(made);
    }
    disk.last = now;
    disk.last.name = {};  // the text goes
    disk.seen = true;
  }
}

LinkWatch::LinkWatch(const base::MachineRoot& root, const Missing& missing)
    : root_(root),
      links_text_(root, "/proc/net/dev"),
      snmp_(root, "/proc/net/snmp"),
      missing_(missing) {}

void LinkWatch::FollowProgram(int pid) {
  KeptFile there(root_, "/proc/" + std::to_string(pid) + "/net/snmp");
  snmp_ = pid != 0 && there.Read() ? std::move(there) : KeptFile(root_, "/proc/net/snmp");
  again_.reset();
  datagrams_.reset();
}

void LinkWatch::Look(double seconds, WatchDevices& devices, WatchSample* sample) {
  LookAtProtocols(seconds, sample);
  const auto text = links_text_.Read();
  if (!text) {
    if (sample == nullptr) {
      missing_("network links", text.error().detail);
    }
    return;
  }
  ParseLinks(*text, counters_);
  double lost = 0;
  for (const LinkCounters& now : counters_) {
    const auto [found, fresh] = links_.try_emplace(base::Printable(now.name, kLongestName));
    Link& link = found->second;
    if (fresh) {
      link.first = now;
      link.last = now;
    }
    const bool used =
        now.received_bytes != link.first.received_bytes || now.sent_bytes != link.first.sent_bytes;
    if (used && !link.number && devices.links.size() < kMostLinks) {
      link.number = devices.links.size();
      devices.links.push_back(found->first);
    }
    const double errors = Added(now.errors, link.last.errors);
    const double drops = Added(now.drops, link.last.drops);
    lost += errors + drops;
    if (sample != nullptr && link.number) {
      sample->links.push_back({*link.number,
                               Added(now.received_bytes, link.last.received_bytes) / seconds,
                               Added(now.sent_bytes, link.last.sent_bytes) / seconds,
                               errors / seconds, drops / seconds});
    }
    link.last = now;
    link.last.name = {};
    link.first.name = {};
  }
  if (sample != nullptr) {
    sample->pc.network_drops_per_second = lost / seconds;
  }
}

void LinkWatch::LookAtProtocols(double seconds, WatchSample* sample) {
  const auto text = snmp_.Read();
  const auto again = text ? ParseRetransmits(*text) : base::Result<std::int64_t>(text.error());
  const auto datagrams = text ? ParseDatagramsDropped(*text) : std::nullopt;
  if (sample == nullptr && !again) {
    missing_("TCP segments sent again", again.error().detail);
  }
  if (sample != nullptr && again && again_) {
    sample->pc.retransmits_per_second = Added(*again, *again_) / seconds;
  }
  if (sample != nullptr && datagrams && datagrams_) {
    sample->datagrams_dropped_per_second = Added(*datagrams, *datagrams_) / seconds;
  }
  again_ = again ? std::optional(*again) : std::nullopt;
  datagrams_ = datagrams;
}

}  // namespace probes
