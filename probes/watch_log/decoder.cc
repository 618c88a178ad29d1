// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/decoder.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <string>
#include <utility>

#include "base/text.h"
#include "probes/watch_log/block.h"

namespace probes {
namespace {

constexpr std::int64_t kMostUs = 4'000'000'000'000'000;
constexpr std::size_t kMostKept = 20'000;  // of lines and looks at processes
constexpr std::size_t kMostNotRead = 200;
constexpr std::size_t kMostShares = 64;
constexpr std::size_t kLongestText = 400;

double Seconds(std::int64_t us) {
  return static_cast<double>(std::clamp(us, -kMostUs, kMostUs)) / 1e6;
}

std::string Shown(std::string_view text) {
  return base::Printable(text, kLongestText);
}

std::int64_t Integer(std::string_view text) {
  return base::ParseInt(text).value_or(0);
}

/// A finite number that is not negative, else 0.
double Quantity(std::string_view text) {
  const double value = base::ParseDouble(text).value_or(0);
  return std::isfinite(value) && value > 0 ? value : 0;
}

/// What stands in a head as text.
std::string* TextFact(WatchHead& head, std::string_view name) {
  return name == "program_version" ? &head.program_version
         : name == "began_at"      ? &head.began_at
         : name == "cpu_model"     ? &head.cpu_model
         : name == "kernel"        ? &head.kernel
         : name == "program"       ? &head.program
                                   : nullptr;
}

void PutFact(WatchHead& head, std::string_view name, std::string_view value) {
  if (std::string* text = TextFact(head, name)) {
    *text = Shown(value);
  } else if (name == "zero_ns") {
    head.zero_ns = Integer(value);
  } else if (name == "zero_wall_ns") {
    head.zero_wall_ns = Integer(value);
  } else if (name == "hz") {
    head.hz = Quantity(value);
  } else if (name == "cpus") {
    head.cpus = static_cast<int>(
        std::clamp<std::int64_t>(Integer(value), 0, static_cast<std::int64_t>(kMostCores)));
  } else if (name == "ticks_per_second") {
    head.ticks_per_second = Quantity(value);
  } else if (name == "memory_bytes") {
    head.memory_bytes = Quantity(value);
  } else if (name == "virtual_pc" && !value.empty()) {
    head.virtual_pc = value == "yes";
  }
}

}  // namespace

void WatchDecoder::BeginPart() {
  names_.Forget();
  part_has_head_ = false;
}

bool WatchDecoder::Within(double from_s, double to_s) const {
  return to_s >= range_.from_s && from_s <= range_.to_s;
}

base::Status WatchDecoder::Take(const WatchRecord& record) {
  ByteReader bytes(record.payload);
  if (record.kind == static_cast<int>(WatchRecordKind::kHead)) {
    return TakeHead(bytes);
  }
  if (!part_has_head_ || !TakeOther(record.kind, bytes)) {
    CountDamage(static_cast<std::int64_t>(record.payload.size() + kRecordHeadBytes));
  }
  return base::Done{};
}

base::Status WatchDecoder::TakeHead(ByteReader& bytes) {
  const bool ours = bytes.Text() == "rigproof-log";
  const std::uint64_t version = bytes.Number();
  if (!ours || bytes.failed()) {
    return base::Error{base::ErrorKind::kMalformed, "", "is no log of rigproof watch"};
  }
  if (version != 1) {
    return base::Error{base::ErrorKind::kInvalid, "",
                       "is a log of version " + std::to_string(version) + ", allowed: 1"};
  }
  part_has_head_ = true;
  if (std::exchange(has_head_, true)) {
    return base::Done{};  // the same again
  }
  const std::uint64_t count = bytes.Number();
  for (std::uint64_t i = 0; i < count && !bytes.AtEnd(); ++i) {
    const std::string_view name = bytes.Text();
    const std::string_view value = bytes.Text();
    PutFact(log_.head, name, value);
  }
  return base::Done{};
}

bool WatchDecoder::TakeSamples(ByteReader& bytes) {
  auto samples = ReadSampleBlock(
      bytes, names_, [this](double from_s, double to_s) { return Within(from_s, to_s); });
  if (!samples) {
    return false;
  }
  for (WatchSample& sample : *samples) {
    const double at_s = sample.pc.at_s;
    if (any_sample_ && at_s <= log_.ends_s) {
      continue;  // told twice, or not in order
    }
    if (sample.seconds <= 0) {
      sample.seconds = any_sample_ ? at_s - log_.ends_s : 0;
    }
    if (!std::exchange(any_sample_, true)) {
      log_.begins_s = at_s - sample.seconds;
    }
    log_.ends_s = at_s;
    clock_.Take(sample, log_);
    if (Within(at_s, at_s)) {
      seen_(sample);
    }
  }
  return true;
}

bool WatchDecoder::TakeKernelLine(ByteReader& bytes) {
  KernelLogLine line;
  line.at_s = Seconds(bytes.Signed());
  for (std::string* text : {&line.text, &line.cause, &line.meaning, &line.weight, &line.source}) {
    *text = Shown(bytes.Text());
  }
  if (!bytes.failed() && Within(line.at_s, line.at_s) && log_.kernel_lines.size() < kMostKept) {
    log_.kernel_lines.push_back(std::move(line));
  }
  return !bytes.failed();
}

bool WatchDecoder::TakeKernelLines(ByteReader& bytes) {
  const std::int64_t lines = bytes.Signed();
  const std::string why = Shown(bytes.Text());
  if (!bytes.failed()) {
    log_.kernel_lines_read =
        lines >= 0 ? base::Reading<std::int64_t>(lines) : base::Reading<std::int64_t>::Unknown(why);
  }
  return !bytes.failed();
}

bool WatchDecoder::TakeProcesses(ByteReader& bytes) {
  WatchProcesses processes;
  processes.from_s = Seconds(bytes.Signed());
  processes.to_s = Seconds(bytes.Signed());
  const std::uint64_t count = bytes.Number();
  if (count > kMostShares) {
    return false;
  }
  for (std::uint64_t i = 0; i < count; ++i) {
    const WatchName* name =
        names_.Find(WatchNameKind::kProcess, static_cast<std::int64_t>(bytes.Number()));
    const double cpus = static_cast<double>(bytes.Signed()) / 1000;
    const bool ours = bytes.Number() == 1;
    if (name != nullptr) {
      processes.busiest.push_back({name->text, static_cast<int>(name->detail), cpus, ours});
    }
  }
  if (!bytes.failed() && Within(processes.from_s, processes.to_s)) {
    KeepProcesses(std::move(processes));
  }
  return !bytes.failed();
}

void WatchDecoder::KeepProcesses(WatchProcesses processes) {
  std::vector<WatchProcesses>& kept = log_.processes;
  if (kept.size() >= kMostKept) {
    // A long log: every second look goes.
    for (std::size_t i = 1; 2 * i < kept.size(); ++i) {
      kept[i] = std::move(kept[2 * i]);
    }
    kept.resize((kept.size() + 1) / 2);
  }
  kept.push_back(std::move(processes));
}

bool WatchDecoder::TakeProgram(ByteReader& bytes) {
  WatchProgram program;
  program.at_s = Seconds(bytes.Signed());
  program.name = Shown(bytes.Text());
  program.pid = static_cast<int>(std::clamp<std::int64_t>(bytes.Signed(), 0, 1 << 30));
  program.as_asked = bytes.Number() == 1;
  const std::int64_t usable = bytes.Signed();
  if (usable > 0) {
    program.usable_cpus = static_cast<double>(usable) / 1000;
  }
  // Each part tells again at its beginning what counts.
  std::vector<WatchProgram>& programs = log_.programs;
  const bool again = !programs.empty() && programs.back().pid == program.pid &&
                     programs.back().name == program.name;
  if (!bytes.failed() && !again && programs.size() < kMostKept) {
    programs.push_back(std::move(program));
  }
  return !bytes.failed();
}

bool WatchDecoder::TakeNotRead(ByteReader& bytes) {
  std::string text = Shown(bytes.Text());
  std::vector<std::string>& all = log_.not_read;
  const bool known = std::find(all.begin(), all.end(), text) != all.end();
  if (!bytes.failed() && !known && all.size() < kMostNotRead) {
    all.push_back(std::move(text));
  }
  return !bytes.failed();
}

bool WatchDecoder::TakeOther(int kind, ByteReader& bytes) {
  switch (static_cast<WatchRecordKind>(kind)) {
    case WatchRecordKind::kName:
      return names_.Take(bytes);
    case WatchRecordKind::kSamples:
      return TakeSamples(bytes);
    case WatchRecordKind::kKernelLine:
      return TakeKernelLine(bytes);
    case WatchRecordKind::kKernelLines:
      return TakeKernelLines(bytes);
    case WatchRecordKind::kProcesses:
      return TakeProcesses(bytes);
    case WatchRecordKind::kProgram:
      return TakeProgram(bytes);
    case WatchRecordKind::kNotRead:
      return TakeNotRead(bytes);
    case WatchRecordKind::kEnd:
      bytes.Signed();
      log_.ended = Shown(bytes.Text());
      return !bytes.failed();
    case WatchRecordKind::kHead:
      break;
  }
  return true;  // of a later version: nothing that we need
}

WatchLog WatchDecoder::Finish() {
  log_.disks = names_.devices().disks;
  log_.links = names_.devices().links;
  log_.engines = names_.devices().engines;
  return std::move(log_);
}

}  // namespace probes
