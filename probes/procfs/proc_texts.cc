// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/proc_texts.h"

#include <algorithm>
#include <array>

#include "base/text.h"

namespace probes {
namespace {

using base::Error;
using base::ErrorKind;

/// "name:  value" -> value, when the line is about `name`.
std::optional<std::string_view> ValueOf(std::string_view line, std::string_view name) {
  const auto colon = line.find(':');
  if (colon == std::string_view::npos || base::Trim(line.substr(0, colon)) != name) {
    return std::nullopt;
  }
  return base::Trim(line.substr(colon + 1));
}

std::optional<std::int64_t> KibibytesOf(std::string_view line, std::string_view name) {
  constexpr std::int64_t kMost = INT64_MAX / 1024;
  const auto value = ValueOf(line, name);
  const auto words = value ? base::SplitWords(*value) : std::vector<std::string_view>{};
  const auto number =
      words.size() == 2 && words[1] == "kB" ? base::ParseInt(words[0]) : std::nullopt;
  if (!number || *number < 0 || *number > kMost) {
    return std::nullopt;
  }
  return *number * 1024;
}

bool HoldsWord(std::string_view text, std::string_view word) {
  const auto words = base::SplitWords(text);
  return std::find(words.begin(), words.end(), word) != words.end();
}

}  // namespace

MemInfo ParseMemInfo(std::string_view text) {
  MemInfo info;
  const std::array<std::pair<std::string_view, std::optional<std::int64_t>*>, 5> fields{
      {{"MemTotal", &info.total_bytes},
       {"MemAvailable", &info.available_bytes},
       {"SwapTotal", &info.swap_bytes},
       {"Dirty", &info.dirty_bytes},
       {"Writeback", &info.writeback_bytes}}};
  for (const std::string_view line : base::Split(text, '\n')) {
    for (const auto& [name, field] : fields) {
      if (const auto bytes = KibibytesOf(line, name)) {
        *field = bytes;
      }
    }
  }
  return info;
}

CpuInfo ParseCpuInfo(std::string_view text) {
  CpuInfo info;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (base::Trim(line).empty() && !info.model.empty()) {
      break;  // the next processor begins
    }
    for (const std::string_view name : {"model name", "cpu model", "Model"}) {
      const auto model = ValueOf(line, name);
      if (model && info.model.empty()) {
        info.model = base::Printable(*model);
      }
    }
    // Only x86 lists "flags"; other processors have "Features" without such a flag.
    if (const auto flags = ValueOf(line, "flags")) {
      info.hypervisor_flag = HoldsWord(*flags, "hypervisor");
    }
  }
  return info;
}

base::Result<CpuTicks> ParseCpuTicks(std::string_view stat_text) {
  const auto words = base::SplitWords(stat_text.substr(0, stat_text.find('\n')));
  // cpu user nice system idle iowait irq softirq steal guest guest_nice
  if (words.size() < 5 || words[0] != "cpu") {
    return Error{ErrorKind::kMalformed, "/proc/stat", "its first line is not that of all CPUs"};
  }
  std::array<std::int64_t, 8> ticks{};
  for (std::size_t i = 0; i < ticks.size() && i + 1 < words.size(); ++i) {
    const auto value = base::ParseInt(words[i + 1]);
    if (!value) {
      return Error{ErrorKind::kMalformed, "/proc/stat",
                   "found '" + base::Printable(words[i + 1], 40) + "' where a number belongs"};
    }
    ticks.at(i) = *value;
  }
  const auto& [user, nice, system, idle, iowait, irq, softirq, steal] = ticks;
  return CpuTicks{user + nice + system + irq + softirq, idle + iowait, steal, irq + softirq};
}

base::Result<ProcessTicks> ParseProcessTicks(std::string_view stat_text) {
  const Error malformed{ErrorKind::kMalformed, "/proc/PID/stat", "not the line of a process"};
  const auto open = stat_text.find('(');
  const auto close = stat_text.rfind(')');
  if (open == std::string_view::npos || close == std::string_view::npos || close < open) {
    return malformed;
  }
  const auto pid = base::ParseInt(base::Trim(stat_text.substr(0, open)));
  // After the name: state is field 3 of proc(5), so field n is words[n - 3].
  const auto words = base::SplitWords(stat_text.substr(close + 1));
  if (!pid || words.size() < 20) {
    return malformed;
  }
  std::array<std::int64_t, 7> values{};
  constexpr std::array<std::size_t, 7> kFields{4, 14, 15, 16, 17, 22, 12};
  for (std::size_t i = 0; i < kFields.size(); ++i) {
    const auto value = base::ParseInt(words[kFields.at(i) - 3]);
    if (!value) {
      return malformed;
    }
    values.at(i) = *value;
  }
  ProcessTicks process;
  process.pid = static_cast<int>(*pid);
  process.parent = static_cast<int>(values[0]);
  process.name = base::Printable(stat_text.substr(open + 1, close - open - 1), 60);
  process.own = values[1] + values[2];
  process.children = values[3] + values[4];
  process.start = values[5];
  process.major_faults = values[6];
  return process;
}

base::Result<std::int64_t> ParseDiskBytes(std::string_view io_text) {
  std::int64_t bytes = 0;
  int found = 0;
  for (const std::string_view line : base::Split(io_text, '\n')) {
    for (const auto& [name, sign] : {std::pair<std::string_view, int>{"read_bytes", 1},
                                     {"write_bytes", 1},
                                     {"cancelled_write_bytes", -1}}) {
      const auto value = ValueOf(line, name);
      const auto number = value ? base::ParseInt(*value) : std::nullopt;
      if (number && *number >= 0 && *number <= INT64_MAX / 4) {
        bytes += sign * *number;
        ++found;
      }
    }
  }
  if (found < 3) {
    return Error{ErrorKind::kMalformed, "/proc/PID/io", "not the counters of a process"};
  }
  return std::max<std::int64_t>(0, bytes);
}

base::Result<std::int64_t> ParsePressureTotalUs(std::string_view text) {
  for (const std::string_view line : base::Split(text, '\n')) {
    const auto words = base::SplitWords(line);
    if (words.empty() || words.front() != "some" || !words.back().starts_with("total=")) {
      continue;
    }
    if (const auto total = base::ParseInt(words.back().substr(6))) {
      return *total;
    }
  }
  return Error{ErrorKind::kMalformed, "/proc/pressure", "no line 'some ... total=N'"};
}

}  // namespace probes
