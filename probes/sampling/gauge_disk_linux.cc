// SPDX-License-Identifier: Apache-2.0
//
// The disk behind the recording folder, and file data that waits in memory for it.

#include <algorithm>
#include <optional>
#include <string>

#include "probes/procfs/kept_file.h"
#include "probes/procfs/proc_texts.h"
#include "probes/procfs/telemetry_texts.h"
#include "probes/sampling/telemetry_gauges.h"
#include "probes/storage/storage.h"

namespace probes {
namespace {

constexpr double kSectorBytes = 512;  // of diskstats, whatever the disk's own

class DiskGauge : public Gauge {
 public:
  DiskGauge(const base::MachineRoot& root, const std::filesystem::path& folder, int own_pid,
            const Missing& missing)
      : diskstats_(root, "/proc/diskstats"),
        meminfo_(root, "/proc/meminfo"),
        own_io_(root, "/proc/" + std::to_string(own_pid) + "/io"),
        missing_(missing) {
    if (folder.empty()) {
      return;
    }
    const StorageInventory storage = ReadStorage(root, folder);
    if (storage.layers.empty()) {
      missing_("disk writes", storage.why_no_layers);
      return;
    }
    disk_ = storage.layers.front().name;
  }

  void Look(double seconds, TelemetrySample* sample) override {
    if (sample != nullptr) {
      LookAtWaiting(*sample);
    }
    if (disk_.empty()) {
      return;
    }
    LookAtOwn(seconds, sample);
    const auto text = diskstats_.Read();
    const auto now = text ? ParseDiskTotals(*text, disk_) : base::Result<DiskTotals>(text.error());
    if (!now) {
      if (sample == nullptr) {
        missing_("disk writes", now.error().detail);
      }
      last_.reset();
      return;
    }
    if (sample != nullptr && last_) {
      Put(*last_, *now, seconds, *sample);
    }
    last_ = *now;
  }

 private:
  void LookAtWaiting(TelemetrySample& sample) {
    const auto text = meminfo_.Read();
    const MemInfo info = text ? ParseMemInfo(*text) : MemInfo{};
    if (info.dirty_bytes) {
      sample.dirty_bytes = static_cast<double>(*info.dirty_bytes) +
                           static_cast<double>(info.writeback_bytes.value_or(0));
    }
    if (info.writeback_bytes) {
      sample.writeback_bytes = static_cast<double>(*info.writeback_bytes);
    }
    if (info.available_bytes) {
      sample.available_bytes = static_cast<double>(*info.available_bytes);
    }
  }

  void LookAtOwn(double seconds, TelemetrySample* sample) {
    const auto text = own_io_.Read();
    const auto bytes = text ? ParseDiskBytes(*text) : base::Result<std::int64_t>(text.error());
    if (!bytes && sample == nullptr) {
      missing_("what our process reads and writes of disks", bytes.error().detail);
    }
    if (bytes && own_bytes_ && sample != nullptr) {
      sample->own_disk_bytes_per_second = Added(*bytes, *own_bytes_) / seconds;
    }
    own_bytes_ = bytes ? std::optional(*bytes) : std::nullopt;
  }

  static void Put(const DiskTotals& before, const DiskTotals& now, double seconds,
                  TelemetrySample& sample) {
    const double ms = seconds * 1000;
    sample.disk_write_bytes_per_second =
        Added(now.sectors_written, before.sectors_written) * kSectorBytes / seconds;
    sample.disk_read_bytes_per_second =
        Added(now.sectors_read, before.sectors_read) * kSectorBytes / seconds;
    sample.disk_busy_percent = std::min(100.0, 100 * Added(now.busy_ms, before.busy_ms) / ms);
    sample.disk_queue = Added(now.weighted_ms, before.weighted_ms) / ms;
    const double writes = Added(now.writes, before.writes);
    if (writes > 0) {
      sample.disk_write_ms = Added(now.write_ms, before.write_ms) / writes;
    }
  }

  KeptFile diskstats_;
  KeptFile meminfo_;
  KeptFile own_io_;
  const Missing missing_;
  std::string disk_;  // name in diskstats; empty: none
  std::optional<DiskTotals> last_;
  std::optional<std::int64_t> own_bytes_;
};

}  // namespace

GaugePtr MakeDiskGauge(const base::MachineRoot& root, const std::filesystem::path& folder,
                       int own_pid, const Missing& missing) {
  return std::make_unique<DiskGauge>(root, folder, own_pid, missing);
}

}  // namespace probes
