// SPDX-License-Identifier: Apache-2.0

#include "report/loads/others_use.h"

#include <algorithm>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/stats/percentile.h"
#include "base/text.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// Less is not worth a name.
constexpr double kLeastCpus = 0.01;
constexpr std::size_t kMostNamed = 4;
/// Of our own use: a bound of ours on how far counters of clock ticks are off.
constexpr double kTickError = 0.05;

using Samples = std::vector<const probes::TelemetrySample*>;

Samples Between(const probes::TelemetryRecord& record, double from_s, double to_s) {
  Samples samples;
  for (const probes::TelemetrySample& sample : record.samples) {
    if (sample.at_s > from_s && sample.at_s <= to_s) {
      samples.push_back(&sample);
    }
  }
  return samples;
}

/// Mean of what samples tell; nothing where none does.
template <typename Value>
std::optional<double> MeanOf(const Samples& samples, Value value) {
  std::vector<double> told;
  for (const probes::TelemetrySample* sample : samples) {
    if (const std::optional<double> one = value(*sample)) {
      told.push_back(*one);
    }
  }
  return told.empty() ? std::nullopt : std::optional(base::Mean(told));
}

base::Reading<double> Known(const std::optional<double>& value, const char* why_not) {
  return value ? base::Reading<double>(*value) : base::Reading<double>::Unknown(why_not);
}

std::optional<double> DiskBytes(const probes::TelemetrySample& sample) {
  if (!sample.disk_write_bytes_per_second || !sample.disk_read_bytes_per_second) {
    return std::nullopt;
  }
  return *sample.disk_write_bytes_per_second + *sample.disk_read_bytes_per_second;
}

void AddDisk(const Samples& samples, OthersUse& use) {
  const auto all = MeanOf(samples, DiskBytes);
  const auto busy = MeanOf(samples, [](const auto& one) { return one.disk_busy_percent; });
  const auto own = MeanOf(samples, [](const auto& one) { return one.own_disk_bytes_per_second; });
  if (!all || !own) {
    const char* why =
        !all ? "the disk's counters were not read" : "what our process takes of disks was not read";
    use.disk_bytes_per_second = base::Reading<double>::Unknown(why);
    use.disk_busy_percent = base::Reading<double>::Unknown(why);
    return;
  }
  const double others = std::max(0.0, *all - *own);
  use.disk_bytes_per_second = others;
  use.disk_busy_percent = Known(
      busy ? std::optional(*all > 0 ? *busy * others / *all : 0.0) : std::nullopt, "not read");
}

/// The programs that were seen, which the kernel accounts for exactly, and what else was busy. Of
/// that some may be no program's: the CPUs' own counters may go by clock ticks, and then differ
/// from what processes used by some hundredths of it.
std::optional<double> OtherCpus(const probes::TelemetryRecord& record, const Samples& samples) {
  const auto less_own = MeanOf(samples, [](const auto& one) -> std::optional<double> {
    const std::optional<double> busy = one.busy_cpus;
    const std::optional<double> own = one.own_cpus;
    // Below zero too: the mean of what is left of each would take every rounding for use.
    return busy && own ? std::optional(*busy - *own - one.interrupt_cpus.value_or(0))
                       : std::nullopt;
  });
  if (!less_own) {
    return std::nullopt;
  }
  const double all = std::max(0.0, *less_own - KernelCpus(record));
  const double seconds = record.watched_s.value_or(0);
  double seen = 0;
  for (const probes::ProcessShare& share : record.others) {
    seen += seconds > 0 ? share.cpu_seconds / seconds : 0;
  }
  seen = std::min(seen, all);
  const auto own =
      MeanOf(samples, [](const auto& one) { return std::optional<double>(one.own_cpus); });
  return seen + std::max(0.0, all - seen - kTickError * own.value_or(0));
}

/// Processes of one name are one program to people.
OtherProgram& ProgramOf(const std::string& name, int pid, std::vector<OtherProgram>& programs) {
  for (OtherProgram& program : programs) {
    if (program.name == name) {
      program.processes += program.pid == pid ? 0 : 1;
      return program;
    }
  }
  OtherProgram& fresh = programs.emplace_back();
  fresh.name = name;
  fresh.pid = pid;
  return fresh;
}

void AddPrograms(const probes::TelemetryRecord& record, OthersUse& use) {
  const double seconds = record.watched_s.value_or(0);
  if (seconds <= 0) {
    return;
  }
  for (const probes::ProcessShare& share : record.others) {
    if (share.cpu_seconds / seconds >= kLeastCpus) {
      ProgramOf(share.name, share.pid, use.programs).cpus += share.cpu_seconds / seconds;
    }
  }
  for (const probes::ProcessBytes& user :
       record.disk_others.value_or(std::vector<probes::ProcessBytes>{})) {
    ProgramOf(user.name, user.pid, use.programs).disk_bytes_per_second += user.bytes / seconds;
  }
  std::stable_sort(use.programs.begin(), use.programs.end(),
                   [](const OtherProgram& a, const OtherProgram& b) { return a.cpus > b.cpus; });
}

std::string NameText(const OtherProgram& program) {
  const std::string name = base::Printable(program.name, 60);
  return program.processes > 1 ? fmt::format("{} ({} processes)", name, program.processes)
                               : fmt::format("{} (process {})", name, program.pid);
}

template <typename Amount>
std::string Listed(const OthersUse& use, Amount amount) {
  std::vector<std::string> parts;
  for (const OtherProgram& program : use.programs) {
    const std::string took = amount(program);
    if (!took.empty() && parts.size() < kMostNamed) {
      parts.push_back(NameText(program) + " " + took);
    }
  }
  return fmt::format("{}", fmt::join(parts, ", "));
}

}  // namespace

std::optional<double> OtherProgramsCpus(const probes::TelemetrySample& sample, double kernel_cpus) {
  const std::optional<double> busy = sample.busy_cpus;
  const std::optional<double> own = sample.own_cpus;
  if (!busy || !own) {
    return std::nullopt;
  }
  return std::max(0.0, *busy - *own - sample.interrupt_cpus.value_or(0) - kernel_cpus);
}

double KernelCpus(const probes::TelemetryRecord& record) {
  const double seconds = record.watched_s.value_or(0);
  return seconds > 0 ? record.kernel_cpu_seconds.value_or(0) / seconds : 0;
}

OthersUse UseOfOthers(const probes::TelemetryRecord& record, double from_s, double to_s,
                      double own_network_bytes_per_second) {
  const Samples samples = Between(record, from_s, to_s);
  OthersUse use;
  use.seconds = samples.empty() ? 0 : std::max(0.0, samples.back()->at_s - from_s);
  use.cpus = Known(OtherCpus(record, samples),
                   samples.empty() ? "nothing was sampled" : "CPU use was not read");
  AddDisk(samples, use);
  const auto network =
      MeanOf(samples, [](const auto& one) { return one.network_bytes_per_second; });
  use.network_bytes_per_second =
      Known(network ? std::optional(std::max(0.0, *network - own_network_bytes_per_second))
                    : std::nullopt,
            "the links' counters were not read");
  AddPrograms(record, use);
  return use;
}

std::string ProgramsText(const OthersUse& use) {
  return Listed(use, [](const OtherProgram& program) {
    return program.cpus > 0 ? fmt::format("{:.2f}", program.cpus) : std::string();
  });
}

std::string CpuTakenText(const OthersUse& use, double cpus) {
  const std::string of = cpus > 0 ? fmt::format("of {:g} CPUs", cpus) : std::string("CPUs");
  const std::string programs = ProgramsText(use);
  return fmt::format("other programs took {:.2f} {}{}", *use.cpus, of,
                     programs.empty() ? " (which ones could not be seen)" : ": " + programs);
}

std::string DiskTakenText(const OthersUse& use) {
  const std::string programs = Listed(use, [](const OtherProgram& program) {
    return program.disk_bytes_per_second > 0
               ? FormatQuantity(program.disk_bytes_per_second, "bytes/s")
               : std::string();
  });
  return fmt::format("other programs read and wrote {} of the recording disk{}",
                     FormatQuantity(*use.disk_bytes_per_second, "bytes/s"),
                     programs.empty() ? " (which ones could not be seen)" : ": " + programs);
}

std::string NetworkTakenText(const OthersUse& use) {
  return fmt::format("other programs had {} on the network",
                     FormatQuantity(*use.network_bytes_per_second * 8, "bits/s"));
}

}  // namespace report
