// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/fields.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace probes {
namespace {

std::optional<double> Told(double value) {
  return value;
}
std::optional<double> Told(const std::optional<double>& value) {
  return value;
}
std::optional<double> Told(const std::optional<std::int64_t>& value) {
  return value ? std::optional(static_cast<double>(*value)) : std::nullopt;
}
void Put(double& member, double value) {
  member = value;
}
void Put(std::optional<double>& member, double value) {
  member = value;
}
void Put(std::optional<std::int64_t>& member, double value) {
  member = static_cast<std::int64_t>(value);
}

/// A member of the sample's telemetry.
template <auto kMember>
constexpr WatchField<WatchSample> Pc(int number, std::string_view name, std::string_view help,
                                     double steps, bool adds_up = false) {
  return {number,
          name,
          help,
          steps,
          [](const WatchSample& sample) { return Told(sample.pc.*kMember); },
          [](WatchSample& sample, double value) { Put(sample.pc.*kMember, value); },
          adds_up};
}

template <typename Thing, auto kMember>
constexpr WatchField<Thing> Of(int number, std::string_view name, std::string_view help,
                               double steps, bool adds_up = false) {
  return {number,
          name,
          help,
          steps,
          [](const Thing& thing) { return Told(thing.*kMember); },
          [](Thing& thing, double value) { Put(thing.*kMember, value); },
          adds_up};
}

using T = TelemetrySample;
using W = WatchSample;
using D = WatchDiskSample;
using L = WatchLinkSample;
using E = WatchEngineSample;

constexpr double kThousandths = 1000;
constexpr double kHundredths = 100;
constexpr double kTenths = 10;
constexpr double kKilo = 0.001;  // bytes in steps of 1,000
constexpr double kKibi = 1.0 / 1024;

constexpr auto kSampleFields = std::to_array<WatchField<WatchSample>>({
    Pc<&T::busy_cpus>(10, "busy_cpus", "CPUs that worked, all processes.", kThousandths),
    Pc<&T::own_cpus>(11, "own_cpus", "CPUs that the watched program used.", kThousandths),
    Pc<&T::steal_cpus>(12, "steal_cpus", "CPUs that the host of a virtual machine took.",
                       kThousandths),
    Pc<&T::run_wait_cpus>(13, "run_wait_cpus",
                          "Threads of the watched program that were ready and got no CPU.",
                          kThousandths),
    Pc<&T::hot_thread_cpus>(14, "hot_thread_cpus",
                            "CPU use of the watched program's busiest thread.", kThousandths),
    Pc<&T::writers_asleep_percent>(15, "writers_asleep_percent",
                                   "Writing threads of the watched program that slept in a write.",
                                   1),
    Pc<&T::top_other_cpus>(16, "top_other_cpus", "CPUs that the busiest other process used.",
                           kThousandths),
    Pc<&T::quota_cpus>(17, "quota_cpus", "Tightest CPU quota above the watched program.",
                       kThousandths),
    Pc<&T::quota_throttled_percent>(18, "quota_throttled_percent",
                                    "Periods of the quota that ran out of time.", kTenths),
    Pc<&T::quota_held_cpus>(19, "quota_held_cpus",
                            "Time that quotas held the watched program back.", kThousandths),
    Pc<&T::mean_mhz>(20, "mean_mhz", "Mean clock rate of the CPUs.", 1),
    Pc<&T::throttle_events>(21, "throttle_events",
                            "Times that a CPU slowed down for heat or power.", 1, true),
    Pc<&T::disk_write_bytes_per_second>(22, "disk_write_bytes_per_second",
                                        "Written to the disk that recordings are on.", kKilo),
    Pc<&T::disk_read_bytes_per_second>(23, "disk_read_bytes_per_second",
                                       "Read from the disk that recordings are on.", kKilo),
    Pc<&T::disk_write_ms>(24, "disk_write_ms", "Time of one finished write on that disk.",
                          kHundredths),
    Pc<&T::disk_busy_percent>(25, "disk_busy_percent",
                              "Time that this disk had a request in flight.", kTenths),
    Pc<&T::disk_queue>(26, "disk_queue", "Requests in flight at this disk.", kHundredths),
    Pc<&T::dirty_bytes>(27, "dirty_bytes", "File data in memory that waits for a disk.", kKibi),
    Pc<&T::writeback_bytes>(28, "writeback_bytes", "File data that is on its way to a disk.",
                            kKibi),
    Pc<&T::cpu_pressure_percent>(29, "cpu_pressure_percent",
                                 "Time that some task waited for a CPU.", kTenths),
    Pc<&T::io_pressure_percent>(30, "io_pressure_percent",
                                "Time that some task waited for input or output.", kTenths),
    Pc<&T::memory_pressure_percent>(31, "memory_pressure_percent",
                                    "Time that some task waited for memory.", kTenths),
    Pc<&T::available_bytes>(32, "available_bytes", "Memory that programs can still have.",
                            kKibi / 64),
    Pc<&T::major_faults_per_second>(33, "major_faults_per_second",
                                    "Pages of the watched program that came from a disk.", kTenths),
    Pc<&T::swapped_bytes_per_second>(34, "swapped_bytes_per_second", "Memory swapped in and out.",
                                     kKilo),
    Pc<&T::reclaim_stalls_per_second>(35, "reclaim_stalls_per_second",
                                      "Allocations that had to free memory first.", kTenths),
    Pc<&T::memory_limit_hits_per_second>(
        36, "memory_limit_hits_per_second",
        "Times that a memory group above the program met its limit.", kTenths),
    Pc<&T::retransmits_per_second>(37, "retransmits_per_second", "TCP segments sent again.",
                                   kTenths),
    Pc<&T::network_drops_per_second>(38, "network_drops_per_second",
                                     "Errors and drops of all links.", kTenths),
    Pc<&T::wall_clock_step_ms>(39, "wall_clock_step_ms",
                               "Movement of the wall clock against the monotonic clock.",
                               kThousandths, true),
    Of<W, &W::stopped_percent>(40, "stopped_percent",
                               "Processes of the watched program that are stopped.", 1),
    Of<W, &W::lowest_mhz>(41, "lowest_mhz", "Lowest clock rate of the CPUs.", 1),
    Of<W, &W::softirq_cpus>(42, "softirq_cpus", "CPUs that served interrupts.", kThousandths),
    Of<W, &W::fullest_irq_percent>(43, "fullest_irq_percent",
                                   "Time that the CPU with most interrupts served them.", kTenths),
    Of<W, &W::recording_bytes_per_second>(44, "recording_bytes_per_second",
                                          "Growth of files that the watched program writes.", 0.01),
    Of<W, &W::recording_free_bytes>(45, "recording_free_bytes", "Free space where these files are.",
                                    kKibi),
    Of<W, &W::program_memory_bytes>(46, "program_memory_bytes",
                                    "Memory of the watched program's first process.", kKibi / 64),
    Pc<&T::unsent_bytes>(49, "unsent_bytes",
                         "Data in the watched program's TCP sockets that has not arrived.", 1),
    Of<W, &W::slept_ms>(kWatchSlept, "slept_ms", "Time that the PC was suspended.", kThousandths,
                        true),
    Of<W, &W::datagrams_dropped_per_second>(47, "datagrams_dropped_per_second",
                                            "Datagrams that no program took in time.", kTenths),
});

}  // namespace

std::span<const WatchField<WatchSample>> WatchSampleFields() {
  return kSampleFields;
}

std::span<const WatchField<WatchDiskSample>> WatchDiskFields() {
  static const auto fields = std::to_array<WatchField<WatchDiskSample>>({
      Of<D, &D::read_bytes_per_second>(100, "read_bytes_per_second", "Read.", kKilo),
      Of<D, &D::write_bytes_per_second>(101, "write_bytes_per_second", "Written.", kKilo),
      Of<D, &D::read_ms>(102, "read_ms", "Time of one finished read.", kHundredths),
      Of<D, &D::write_ms>(103, "write_ms", "Time of one finished write.", kHundredths),
      Of<D, &D::busy_percent>(104, "busy_percent", "Time with a request in flight.", kTenths),
      Of<D, &D::queue>(105, "queue", "Requests in flight.", kHundredths),
  });
  return fields;
}

std::span<const WatchField<WatchLinkSample>> WatchLinkFields() {
  static const auto fields = std::to_array<WatchField<WatchLinkSample>>({
      Of<L, &L::received_bytes_per_second>(110, "received_bytes_per_second", "Received.", kKilo),
      Of<L, &L::sent_bytes_per_second>(111, "sent_bytes_per_second", "Sent.", kKilo),
      Of<L, &L::errors_per_second>(112, "errors_per_second", "Errors, both ways.", kTenths),
      Of<L, &L::drops_per_second>(113, "drops_per_second", "Drops, both ways.", kTenths),
  });
  return fields;
}

std::span<const WatchField<WatchEngineSample>> WatchEngineFields() {
  static const auto fields = std::to_array<WatchField<WatchEngineSample>>({
      Of<E, &E::busy_percent>(120, "busy_percent", "Use of the engines of this kind.", kTenths),
      Of<E, &E::own_percent>(121, "own_percent", "Use by the watched program.", kTenths),
  });
  return fields;
}

namespace {

/// `weight`: share of the whole time that `next` has. A value that only one of the two has is kept.
template <typename Thing>
void MergeFields(std::span<const WatchField<Thing>> fields, double weight, Thing& thing,
                 const Thing& next) {
  for (const WatchField<Thing>& field : fields) {
    const auto before = field.get(thing);
    const auto after = field.get(next);
    if (before && after) {
      field.set(thing, field.adds_up ? *before + *after : *before + weight * (*after - *before));
    } else if (after) {
      field.set(thing, *after);
    }
  }
}

template <typename Thing>
void MergeThings(std::span<const WatchField<Thing>> fields, std::size_t Thing::*number,
                 double weight, std::vector<Thing>& things, const std::vector<Thing>& next) {
  for (const Thing& each : next) {
    const auto same = std::find_if(things.begin(), things.end(),
                                   [&](const Thing& is) { return is.*number == each.*number; });
    if (same == things.end()) {
      things.push_back(each);
    } else {
      MergeFields(fields, weight, *same, each);
    }
  }
}

}  // namespace

void MergeWatchSamples(WatchSample& sample, const WatchSample& next) {
  const double seconds = sample.seconds + next.seconds;
  const double weight = seconds > 0 ? next.seconds / seconds : 0.5;
  // The names of the larger share.
  if (next.pc.hot_thread_cpus > sample.pc.hot_thread_cpus) {
    sample.pc.hot_thread = next.pc.hot_thread;
  }
  if (next.pc.top_other_cpus > sample.pc.top_other_cpus) {
    sample.pc.top_other = next.pc.top_other;
    sample.pc.top_other_pid = next.pc.top_other_pid;
  }
  MergeFields(WatchSampleFields(), weight, sample, next);
  MergeThings(WatchDiskFields(), &WatchDiskSample::disk, weight, sample.disks, next.disks);
  MergeThings(WatchLinkFields(), &WatchLinkSample::link, weight, sample.links, next.links);
  MergeThings(WatchEngineFields(), &WatchEngineSample::engine, weight, sample.engines,
              next.engines);
  std::vector<int>& cores = sample.pc.core_busy_percent;
  if (cores.size() == next.pc.core_busy_percent.size()) {
    for (std::size_t i = 0; i < cores.size(); ++i) {
      cores[i] = static_cast<int>(
          std::lround(cores[i] + weight * (next.pc.core_busy_percent[i] - cores[i])));
    }
  } else {
    cores = next.pc.core_busy_percent;
  }
  sample.pc.at_s = next.pc.at_s;
  sample.wall_ns = next.wall_ns;
  sample.program_runs = sample.program_runs || next.program_runs;
  sample.recording_disk = next.recording_disk ? next.recording_disk : sample.recording_disk;
  sample.seconds = seconds;
}

void PutWatchDisk(const WatchSample& sample, std::size_t disk, TelemetrySample& telemetry) {
  const auto found = std::find_if(sample.disks.begin(), sample.disks.end(),
                                  [&](const WatchDiskSample& each) { return each.disk == disk; });
  const bool there = found != sample.disks.end();
  const auto told = [&](double WatchDiskSample::*member) {
    return there ? std::optional((*found).*member) : std::nullopt;
  };
  telemetry.disk_write_bytes_per_second = told(&WatchDiskSample::write_bytes_per_second);
  telemetry.disk_read_bytes_per_second = told(&WatchDiskSample::read_bytes_per_second);
  telemetry.disk_busy_percent = told(&WatchDiskSample::busy_percent);
  telemetry.disk_queue = told(&WatchDiskSample::queue);
  telemetry.disk_write_ms = there ? found->write_ms : std::nullopt;
}

}  // namespace probes
