// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/system_texts.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>

#include "base/text.h"
#include "probes/procfs/lines.h"

namespace probes {
namespace {

using base::Error;
using base::ErrorKind;

std::optional<std::int64_t> KibibytesAfter(std::string_view line, std::string_view name) {
  constexpr std::int64_t kMost = INT64_MAX / 1024;
  const auto value = After(line, name);
  if (!value) {
    return std::nullopt;
  }
  Words words(*value);
  const auto number = words.Number();
  if (!number || *number < 0 || *number > kMost || words.Next() != "kB" || !words.Next().empty()) {
    return std::nullopt;
  }
  return *number * 1024;
}

bool HoldsWord(std::string_view text, std::string_view word) {
  Words words(text);
  for (std::string_view each = words.Next(); !each.empty(); each = words.Next()) {
    if (each == word) {
      return true;
    }
  }
  return false;
}

/// cpu user nice system idle iowait irq softirq steal guest guest_nice; old kernels have fewer.
base::Result<CpuTicks> ParseCpuLine(std::string_view line) {
  std::array<std::int64_t, 8> ticks{};
  Words words(line);
  words.Next();
  std::size_t found = 0;
  for (; found < ticks.size(); ++found) {
    const std::string_view word = words.Next();
    if (word.empty()) {
      break;
    }
    const auto value = base::ParseInt(word);
    if (!value) {
      return Error{ErrorKind::kMalformed, "/proc/stat",
                   "found '" + base::Printable(word, 40) + "' where a number belongs"};
    }
    ticks.at(found) = *value;
  }
  if (found < 4) {
    return Error{ErrorKind::kMalformed, "/proc/stat", "its first line is not that of all CPUs"};
  }
  const auto& [user, nice, system, idle, iowait, irq, softirq, steal] = ticks;
  return CpuTicks{user + nice + system + irq + softirq, idle + iowait, steal, irq + softirq};
}

/// The value in the column `name` of a line of names and a line of values.
std::optional<std::int64_t> InColumn(std::string_view names, std::string_view values,
                                     std::string_view name) {
  Words name_words(names);
  Words value_words(values);
  for (std::string_view word = name_words.Next(); !word.empty(); word = name_words.Next()) {
    const std::string_view value = value_words.Next();
    if (word == name) {
      return base::ParseInt(value);
    }
  }
  return std::nullopt;
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
  ForEachLine(text, [&fields](std::string_view line) {
    for (const auto& [name, field] : fields) {
      if (const auto bytes = KibibytesAfter(line, name)) {
        *field = bytes;
      }
    }
  });
  return info;
}

CpuInfo ParseCpuInfo(std::string_view text) {
  CpuInfo info;
  bool ended = false;
  ForEachLine(text, [&](std::string_view line) {
    ended = ended || (base::Trim(line).empty() && !info.model.empty());
    if (ended) {
      return;  // of the next processor
    }
    for (const std::string_view name : {"model name", "cpu model", "Model"}) {
      const auto model = After(line, name);
      if (model && info.model.empty()) {
        info.model = base::Printable(*model);
      }
    }
    // Only x86 lists "flags"; other processors have "Features" without such a flag.
    if (const auto flags = After(line, "flags")) {
      info.hypervisor_flag = HoldsWord(*flags, "hypervisor");
    }
  });
  return info;
}

base::Result<StatTicks> ParseStatTicks(std::string_view stat_text) {
  StatTicks ticks;
  bool first = true;
  // What follows the lines of CPUs is far longer than they are.
  while (stat_text.starts_with("cpu")) {
    const std::size_t end = std::min(stat_text.find('\n'), stat_text.size());
    const std::string_view line = stat_text.substr(0, end);
    stat_text.remove_prefix(std::min(end + 1, stat_text.size()));
    if (first && !line.starts_with("cpu ")) {
      break;
    }
    const auto cpu = ParseCpuLine(line);
    if (!cpu && first) {
      return cpu.error();
    }
    if (!cpu) {
      ticks.cores.clear();
      break;
    }
    if (first) {
      ticks.all = *cpu;
      first = false;
    } else {
      ticks.cores.push_back(*cpu);
    }
  }
  if (first) {
    return Error{ErrorKind::kMalformed, "/proc/stat", "its first line is not that of all CPUs"};
  }
  return ticks;
}

std::optional<std::int64_t> ParseNewestNumber(std::string_view loadavg_text) {
  // Three averages, threads that run and all of them, the number.
  Words words(loadavg_text);
  for (int skipped = 0; skipped < 4; ++skipped) {
    words.Next();
  }
  return words.Number();
}

MemoryEvents ParseVmStat(std::string_view text) {
  MemoryEvents events;
  ForEachLine(text, [&events](std::string_view line) {
    if (const auto in = NumberAfter(line, "pswpin")) {
      events.pages_swapped_in = *in;
    } else if (const auto out = NumberAfter(line, "pswpout")) {
      events.pages_swapped_out = *out;
    } else if (line.starts_with("allocstall")) {
      if (const auto stalls = NumberAfter(line, line.substr(0, line.find(' ')))) {
        events.reclaim_stalls = events.reclaim_stalls.value_or(0) + *stalls;
      }
    }
  });
  return events;
}

base::Result<std::int64_t> ParsePressureTotalUs(std::string_view text) {
  constexpr std::string_view kTotal = "total=";
  std::optional<std::int64_t> total;
  ForEachLine(text, [&](std::string_view line) {
    Words words(line);
    if (total || words.Next() != "some") {
      return;
    }
    for (std::string_view word = words.Next(); !word.empty(); word = words.Next()) {
      if (word.starts_with(kTotal)) {
        total = base::ParseInt(word.substr(kTotal.size()));
      }
    }
  });
  if (!total) {
    return Error{ErrorKind::kMalformed, "/proc/pressure", "no line 'some ... total=N'"};
  }
  return *total;
}

void ParseDisks(std::string_view diskstats_text, std::vector<DiskCounters>& disks) {
  disks.clear();
  ForEachLine(diskstats_text, [&disks](std::string_view line) {
    Words words(line);
    words.Next();  // major and minor number
    words.Next();
    DiskCounters disk;
    disk.name = words.Next();
    // Fields 1 to 11 of the page.
    std::array<std::int64_t, 11> fields{};
    if (disk.name.empty() || !words.Numbers(fields)) {
      return;
    }
    disk.reads = fields[0];
    disk.sectors_read = fields[2];
    disk.read_ms = fields[3];
    disk.writes = fields[4];
    disk.sectors_written = fields[6];
    disk.write_ms = fields[7];
    disk.busy_ms = fields[9];
    disk.weighted_ms = fields[10];
    disks.push_back(disk);
  });
}

void ParseLinks(std::string_view net_dev_text, std::vector<LinkCounters>& links) {
  links.clear();
  ForEachLine(net_dev_text, [&links](std::string_view line) {
    const std::size_t colon = line.find(':');
    if (colon == std::string_view::npos) {
      return;
    }
    LinkCounters link;
    link.name = base::Trim(line.substr(0, colon));
    // Received: bytes packets errs drop fifo frame compressed multicast; sent from 8 on alike.
    std::array<std::int64_t, 12> fields{};
    if (link.name.empty() || link.name == "lo" || !Words(line.substr(colon + 1)).Numbers(fields)) {
      return;
    }
    link.received_bytes = fields[0];
    link.sent_bytes = fields[8];
    link.errors = fields[2] + fields[10];
    link.drops = fields[3] + fields[11];
    links.push_back(link);
  });
}

ProtocolCounters ParseProtocols(std::string_view snmp_text) {
  ProtocolCounters counters;
  std::string_view tcp_names;
  std::string_view udp_names;
  ForEachLine(snmp_text, [&](std::string_view line) {
    if (line.starts_with("Tcp:")) {
      if (!tcp_names.empty()) {
        counters.tcp_sent_again = InColumn(tcp_names, line, "RetransSegs");
      }
      tcp_names = line;
    } else if (line.starts_with("Udp:")) {
      if (!udp_names.empty()) {
        counters.udp_not_taken = InColumn(udp_names, line, "RcvbufErrors");
      }
      udp_names = line;
    }
  });
  return counters;
}

}  // namespace probes
