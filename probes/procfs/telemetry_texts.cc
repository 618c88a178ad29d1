// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/telemetry_texts.h"

#include <algorithm>
#include <array>
#include <initializer_list>
#include <string>

#include "base/text.h"

namespace probes {
namespace {

using base::Error;
using base::ErrorKind;

/// "name value" -> value, when the line is about `name`.
std::optional<std::int64_t> NumberAfter(std::string_view line, std::string_view name) {
  const auto words = base::SplitWords(line);
  return words.size() == 2 && words[0] == name ? base::ParseInt(words[1]) : std::nullopt;
}

void AddTo(std::optional<std::int64_t>& sum, std::int64_t value) {
  sum = sum.value_or(0) + value;
}

/// Of every link but loopback, the sum of these columns of /proc/net/dev. Received: bytes packets
/// errs drop fifo frame compressed multicast; sent from 8 on alike.
base::Result<std::map<std::string, std::int64_t>> SumsOfLinks(
    std::string_view net_dev_text, std::initializer_list<std::size_t> columns) {
  std::map<std::string, std::int64_t> sums;
  for (const std::string_view line : base::Split(net_dev_text, '\n')) {
    const auto colon = line.find(':');
    if (colon == std::string_view::npos || base::Trim(line.substr(0, colon)) == "lo") {
      continue;
    }
    const auto words = base::SplitWords(line.substr(colon + 1));
    std::int64_t& sum = sums[std::string(base::Trim(line.substr(0, colon)))];
    for (const std::size_t at : columns) {
      const auto value = at < words.size() ? base::ParseInt(words[at]) : std::nullopt;
      if (!value || *value < 0 || *value > INT64_MAX / 8) {
        return Error{ErrorKind::kMalformed, "/proc/net/dev", "not the columns that are known"};
      }
      sum += *value;
    }
  }
  return sums;
}

}  // namespace

base::Result<std::vector<CpuTicks>> ParseCoreTicks(std::string_view stat_text) {
  std::vector<CpuTicks> cores;
  for (const std::string_view line : base::Split(stat_text, '\n')) {
    if (!line.starts_with("cpu") || line.starts_with("cpu ")) {
      continue;
    }
    const auto space = line.find(' ');
    if (space == std::string_view::npos) {
      continue;
    }
    // The same columns as the line of all CPUs.
    auto core = ParseCpuTicks("cpu" + std::string(line.substr(space)));
    if (!core) {
      return core.error();
    }
    cores.push_back(*core);
  }
  return cores;
}

base::Result<DiskTotals> ParseDiskTotals(std::string_view diskstats_text, std::string_view device) {
  for (const std::string_view line : base::Split(diskstats_text, '\n')) {
    const auto words = base::SplitWords(line);
    if (words.size() < 14 || words[2] != device) {
      continue;
    }
    // major minor name, then field n of the page is words[n + 2].
    constexpr std::array<std::size_t, 6> kFields{3, 5, 7, 8, 10, 11};
    std::array<std::int64_t, 6> values{};
    for (std::size_t i = 0; i < kFields.size(); ++i) {
      const auto value = base::ParseInt(words[kFields.at(i) + 2]);
      if (!value) {
        return Error{ErrorKind::kMalformed, "/proc/diskstats",
                     "no number where one belongs, for " + base::Printable(device, 40)};
      }
      values.at(i) = *value;
    }
    return DiskTotals{values[0], values[1], values[2], values[3], values[4], values[5]};
  }
  return Error{ErrorKind::kNotPresent, "/proc/diskstats",
               "no line for " + base::Printable(device, 40)};
}

MemoryEvents ParseVmStat(std::string_view text) {
  MemoryEvents events;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (const auto in = NumberAfter(line, "pswpin")) {
      events.pages_swapped_in = *in;
    } else if (const auto out = NumberAfter(line, "pswpout")) {
      events.pages_swapped_out = *out;
    } else if (line.starts_with("allocstall")) {
      if (const auto stalls = NumberAfter(line, line.substr(0, line.find(' ')))) {
        AddTo(events.reclaim_stalls, *stalls);
      }
    }
  }
  return events;
}

std::optional<std::int64_t> ParseLimitHits(std::string_view text) {
  if (const auto single = base::ParseInt(base::Trim(text))) {
    return *single;
  }
  std::optional<std::int64_t> hits;
  for (const std::string_view line : base::Split(text, '\n')) {
    for (const std::string_view name : {"max", "high"}) {
      if (const auto count = NumberAfter(line, name)) {
        AddTo(hits, *count);
      }
    }
  }
  return hits;
}

std::optional<QuotaPeriods> ParseQuotaPeriods(std::string_view cpu_stat_text) {
  QuotaPeriods periods;
  bool found = false;
  for (const std::string_view line : base::Split(cpu_stat_text, '\n')) {
    if (const auto all = NumberAfter(line, "nr_periods")) {
      periods.all = *all;
      found = true;
    } else if (const auto throttled = NumberAfter(line, "nr_throttled")) {
      periods.throttled = *throttled;
    }
  }
  return found ? std::optional(periods) : std::nullopt;
}

base::Result<std::int64_t> ParseRetransmits(std::string_view snmp_text) {
  // A line of names and a line of values, both beginning with "Tcp:".
  std::vector<std::string_view> names;
  for (const std::string_view line : base::Split(snmp_text, '\n')) {
    if (!line.starts_with("Tcp:")) {
      continue;
    }
    const auto words = base::SplitWords(line);
    if (names.empty()) {
      names = words;
      continue;
    }
    const auto name = std::find(names.begin(), names.end(), "RetransSegs");
    const auto at = static_cast<std::size_t>(name - names.begin());
    const auto value = at < words.size() ? base::ParseInt(words[at]) : std::nullopt;
    if (value) {
      return *value;
    }
    break;
  }
  return Error{ErrorKind::kMalformed, "/proc/net/snmp", "no count of TCP segments sent again"};
}

base::Result<std::map<std::string, std::int64_t>> ParseLinkBytes(std::string_view net_dev_text) {
  return SumsOfLinks(net_dev_text, {0, 8});
}

base::Result<std::int64_t> ParseLinkLosses(std::string_view net_dev_text) {
  const auto links = SumsOfLinks(net_dev_text, {2, 3, 10, 11});
  if (!links) {
    return links.error();
  }
  std::int64_t losses = 0;
  for (const auto& [name, sum] : *links) {
    losses += sum;
  }
  return losses;
}

std::optional<ThreadTimes> ParseThreadTimes(std::string_view schedstat_text) {
  const auto words = base::SplitWords(schedstat_text);
  const auto run = !words.empty() ? base::ParseInt(words[0]) : std::nullopt;
  const auto wait = words.size() > 1 ? base::ParseInt(words[1]) : std::nullopt;
  return run && wait ? std::optional(ThreadTimes{*run, *wait}) : std::nullopt;
}

}  // namespace probes
