// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/encoder.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include <fmt/format.h>

#include "probes/watch_log/fields.h"

namespace probes {
namespace {

constexpr double kMicroseconds = 1e6;
constexpr std::size_t kLongestName = 60;
constexpr std::size_t kLongestText = 390;

/// How the values of a column are written.
enum class ColumnForm : std::uint8_t { kEach = 0, kSame = 1, kSome = 2 };

std::int64_t Steps(double value, double steps) {
  constexpr double kMost = 9e18;
  const double scaled = value * steps;
  return std::isfinite(scaled) ? std::llround(std::clamp(scaled, -kMost, kMost)) : 0;
}

void PutName(WatchNameKind kind, std::uint64_t number, std::string_view text, std::string_view of,
             std::int64_t detail, std::string& bytes) {
  std::string payload;
  PutNumber(payload, static_cast<std::uint64_t>(kind));
  PutNumber(payload, number);
  PutText(payload, text.substr(0, kLongestName));
  PutText(payload, of.substr(0, kLongestName));
  PutSigned(payload, detail);
  PutRecord(bytes, WatchRecordKind::kName, payload);
}

std::int64_t SpinningNumber(const std::optional<bool>& spinning) {
  return spinning ? (*spinning ? 1 : 2) : 0;
}

/// What one sample has for a field of device `wanted`.
template <typename Thing>
std::optional<std::int64_t> Cell(const std::vector<Thing>& things, std::size_t Thing::*number,
                                 std::size_t wanted, const WatchField<Thing>& field) {
  const auto found = std::find_if(things.begin(), things.end(),
                                  [&](const Thing& thing) { return thing.*number == wanted; });
  const auto value = found == things.end() ? std::nullopt : field.get(*found);
  return value ? std::optional(Steps(*value, field.steps)) : std::nullopt;
}

}  // namespace

void WatchEncoder::Begin(const WatchHead& head, int part, std::string& bytes) {
  declared_.clear();
  processes_.clear();
  threads_.clear();
  const std::pair<std::string_view, std::string> facts[] = {
      {"program_version", head.program_version},
      {"began_at", head.began_at},
      {"zero_ns", std::to_string(head.zero_ns)},
      {"zero_wall_ns", std::to_string(head.zero_wall_ns)},
      {"hz", fmt::format("{}", head.hz)},
      {"cpus", std::to_string(head.cpus)},
      {"ticks_per_second", fmt::format("{}", head.ticks_per_second)},
      {"memory_bytes", fmt::format("{:.0f}", head.memory_bytes)},
      {"cpu_model", head.cpu_model},
      {"kernel", head.kernel},
      {"virtual_pc", head.virtual_pc ? (*head.virtual_pc ? "yes" : "no") : ""},
      {"program", head.program},
      {"part", std::to_string(part)},
  };
  std::string payload;
  PutText(payload, "rigproof-log");
  PutNumber(payload, static_cast<std::uint64_t>(head.version));
  PutNumber(payload, std::size(facts));
  for (const auto& [name, value] : facts) {
    PutText(payload, name);
    PutText(payload, std::string_view(value).substr(0, kLongestText));
  }
  PutRecord(bytes, WatchRecordKind::kHead, payload);
}

void WatchEncoder::DeclareDevices(std::span<const WatchSample> samples, const WatchDevices& devices,
                                  std::string& bytes) {
  const auto fresh = [this](WatchNameKind kind, std::size_t number) {
    return declared_.emplace(static_cast<int>(kind), number).second;
  };
  for (const WatchSample& sample : samples) {
    for (const WatchDiskSample& each : sample.disks) {
      if (fresh(WatchNameKind::kDisk, each.disk)) {
        const WatchDisk& disk = devices.disks.at(each.disk);
        PutName(WatchNameKind::kDisk, each.disk, disk.name, "", SpinningNumber(disk.spinning),
                bytes);
      }
    }
    for (const WatchLinkSample& each : sample.links) {
      if (fresh(WatchNameKind::kLink, each.link)) {
        PutName(WatchNameKind::kLink, each.link, devices.links.at(each.link), "", 0, bytes);
      }
    }
    for (const WatchEngineSample& each : sample.engines) {
      if (fresh(WatchNameKind::kEngine, each.engine)) {
        const WatchEngine& engine = devices.engines.at(each.engine);
        PutName(WatchNameKind::kEngine, each.engine, engine.name, engine.device, 0, bytes);
      }
    }
  }
}

std::int64_t WatchEncoder::ProcessName(const std::string& name, int pid, std::string& bytes) {
  if (name.empty()) {
    return 0;
  }
  const auto [known, fresh] = processes_.try_emplace({pid, name}, 0);
  if (fresh) {
    known->second = static_cast<std::int64_t>(processes_.size());
    PutName(WatchNameKind::kProcess, processes_.size(), name, "", pid, bytes);
  }
  return known->second;
}

std::int64_t WatchEncoder::ThreadName(const std::string& name, std::string& bytes) {
  if (name.empty()) {
    return 0;
  }
  const auto [known, fresh] = threads_.try_emplace(name, 0);
  if (fresh) {
    known->second = static_cast<std::int64_t>(threads_.size());
    PutName(WatchNameKind::kThread, threads_.size(), name, "", 0, bytes);
  }
  return known->second;
}

void WatchEncoder::PutColumn(int field, std::size_t thing) {
  const auto present = static_cast<std::size_t>(
      std::count_if(column_.begin(), column_.end(), [](const auto& value) { return value; }));
  if (present == 0) {
    return;
  }
  const bool all = present == column_.size();
  const bool same = all && std::all_of(column_.begin(), column_.end(), [&](const auto& value) {
                      return *value == *column_.front();
                    });
  std::string data;
  const ColumnForm form = same ? ColumnForm::kSame : all ? ColumnForm::kEach : ColumnForm::kSome;
  data.push_back(static_cast<char>(form));
  if (form == ColumnForm::kSome) {
    for (std::size_t i = 0; i < column_.size(); i += 8) {
      unsigned bits = 0;
      for (std::size_t k = i; k < std::min(i + 8, column_.size()); ++k) {
        bits |= (column_[k] ? 1U : 0U) << (k - i);
      }
      data.push_back(static_cast<char>(bits));
    }
  }
  std::uint64_t before = 0;
  for (const auto& value : column_) {
    if (value) {
      const auto bits = static_cast<std::uint64_t>(*value);
      PutSigned(data, static_cast<std::int64_t>(bits - before));  // wraps round, as reading does
      before = bits;
      if (same) {
        break;
      }
    }
  }
  PutNumber(columns_, static_cast<std::uint64_t>(field));
  PutNumber(columns_, thing);
  PutText(columns_, data);
}

void WatchEncoder::NameColumns(std::span<const WatchSample> samples, std::string& bytes) {
  const auto fill = [&](int field, auto value_of) {
    column_.clear();
    for (const WatchSample& sample : samples) {
      column_.emplace_back(value_of(sample));
    }
    PutColumn(field, 0);
  };
  using Value = std::optional<std::int64_t>;
  fill(kWatchTime, [](const WatchSample& s) { return Value(Steps(s.pc.at_s, kMicroseconds)); });
  fill(kWatchWallAhead, [](const WatchSample& s) {
    return Value(s.wall_ns / 1000 - Steps(s.pc.at_s, kMicroseconds));
  });
  column_.assign(samples.size(), std::nullopt);
  column_.front() = Steps(samples.front().seconds, kMicroseconds);
  PutColumn(kWatchCovers, 0);
  fill(kWatchHotThread,
       [&](const WatchSample& s) { return Value(ThreadName(s.pc.hot_thread, bytes)); });
  fill(kWatchTopOther, [&](const WatchSample& s) {
    return Value(ProcessName(s.pc.top_other, s.pc.top_other_pid, bytes));
  });
  fill(kWatchRunning, [](const WatchSample& s) { return Value(s.program_runs ? 1 : 0); });
  fill(kWatchRecordingDisk, [](const WatchSample& s) {
    return s.recording_disk ? Value(static_cast<std::int64_t>(*s.recording_disk)) : std::nullopt;
  });
}

/// For each device of a kind that any of the samples has.
template <typename Thing>
void WatchEncoder::PutDeviceColumns(std::span<const WatchSample> samples,
                                    std::span<const WatchField<Thing>> fields,
                                    std::vector<Thing> WatchSample::*things,
                                    std::size_t Thing::*number) {
  std::set<std::size_t> present;
  for (const WatchSample& sample : samples) {
    for (const Thing& each : sample.*things) {
      present.insert(each.*number);
    }
  }
  for (const std::size_t thing : present) {
    for (const WatchField<Thing>& field : fields) {
      column_.clear();
      for (const WatchSample& sample : samples) {
        column_.push_back(Cell(sample.*things, number, thing, field));
      }
      PutColumn(field.number, thing);
    }
  }
}

void WatchEncoder::PutCoreColumns(std::span<const WatchSample> samples) {
  std::size_t cores = 0;
  for (const WatchSample& sample : samples) {
    cores = std::max(cores, sample.pc.core_busy_percent.size());
  }
  for (std::size_t core = 0; core < std::min(cores, kMostCores); ++core) {
    column_.clear();
    for (const WatchSample& sample : samples) {
      const std::vector<int>& busy = sample.pc.core_busy_percent;
      column_.push_back(core < busy.size() ? std::optional(std::int64_t{busy[core]})
                                           : std::nullopt);
    }
    PutColumn(kWatchCore, core);
  }
}

void WatchEncoder::Samples(std::span<const WatchSample> samples, const WatchDevices& devices,
                           std::string& bytes) {
  columns_.clear();
  DeclareDevices(samples, devices, bytes);
  NameColumns(samples, bytes);
  for (const auto& field : WatchSampleFields()) {
    column_.clear();
    for (const WatchSample& sample : samples) {
      const auto value = field.get(sample);
      column_.push_back(value ? std::optional(Steps(*value, field.steps)) : std::nullopt);
    }
    PutColumn(field.number, 0);
  }
  PutDeviceColumns(samples, WatchDiskFields(), &WatchSample::disks, &WatchDiskSample::disk);
  PutDeviceColumns(samples, WatchLinkFields(), &WatchSample::links, &WatchLinkSample::link);
  PutDeviceColumns(samples, WatchEngineFields(), &WatchSample::engines, &WatchEngineSample::engine);
  PutCoreColumns(samples);
  std::string payload;
  PutNumber(payload, samples.size());
  payload.append(columns_);
  PutRecord(bytes, WatchRecordKind::kSamples, payload);
}

void WatchEncoder::Processes(const WatchProcesses& processes, std::string& bytes) {
  std::string payload;
  PutSigned(payload, Steps(processes.from_s, kMicroseconds));
  PutSigned(payload, Steps(processes.to_s, kMicroseconds));
  PutNumber(payload, processes.busiest.size());
  for (const WatchProcesses::Share& share : processes.busiest) {
    PutNumber(payload, static_cast<std::uint64_t>(ProcessName(share.name, share.pid, bytes)));
    PutSigned(payload, Steps(share.cpus, 1000));
    PutNumber(payload, share.ours ? 1 : 0);
  }
  PutRecord(bytes, WatchRecordKind::kProcesses, payload);
}

void WatchEncoder::Program(const WatchProgram& program, std::string& bytes) {
  std::string payload;
  PutSigned(payload, Steps(program.at_s, kMicroseconds));
  PutText(payload, std::string_view(program.name).substr(0, kLongestName));
  PutSigned(payload, program.pid);
  PutNumber(payload, program.as_asked ? 1 : 0);
  PutSigned(payload, program.usable_cpus ? Steps(*program.usable_cpus, 1000) : -1);
  PutRecord(bytes, WatchRecordKind::kProgram, payload);
}

void WatchEncoder::KernelLine(const KernelLogLine& line, std::string& bytes) {
  std::string payload;
  PutSigned(payload, Steps(line.at_s, kMicroseconds));
  for (const std::string* text :
       {&line.text, &line.cause, &line.meaning, &line.weight, &line.source}) {
    PutText(payload, std::string_view(*text).substr(0, kLongestText));
  }
  PutRecord(bytes, WatchRecordKind::kKernelLine, payload);
}

void WatchEncoder::KernelLines(const base::Reading<std::int64_t>& lines, std::string& bytes) {
  std::string payload;
  PutSigned(payload, lines ? *lines : -1);
  PutText(payload, lines ? std::string_view()
                         : std::string_view(lines.why_unknown()).substr(0, kLongestText));
  PutRecord(bytes, WatchRecordKind::kKernelLines, payload);
}

void WatchEncoder::NotRead(std::string_view text, std::string& bytes) {
  std::string payload;
  PutText(payload, text.substr(0, kLongestText));
  PutRecord(bytes, WatchRecordKind::kNotRead, payload);
}

void WatchEncoder::End(double at_s, std::string_view why, std::string& bytes) {
  std::string payload;
  PutSigned(payload, Steps(at_s, kMicroseconds));
  PutText(payload, why.substr(0, kLongestText));
  PutRecord(bytes, WatchRecordKind::kEnd, payload);
}

}  // namespace probes
