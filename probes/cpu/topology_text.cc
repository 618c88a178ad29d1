// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/topology_text.h"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::int64_t kMostCount = 65536;
constexpr std::int64_t kMostCacheBytes = std::int64_t{1} << 40;
constexpr int kMostCacheLevel = 9;
constexpr std::size_t kMostKinds = 64;
constexpr std::size_t kMostCaches = 1024;
constexpr std::array<std::string_view, 4> kKindNames = {"performance", "middle", "efficient",
                                                        "core"};
constexpr std::array<std::string_view, 3> kCacheTypes = {"data", "instruction", "unified"};

using Words = std::vector<std::string_view>;

std::string ListText(const std::vector<int>& cpus) {
  std::string text;
  for (std::size_t first = 0, last = 0; first < cpus.size(); first = last + 1) {
    for (last = first; last + 1 < cpus.size() && cpus[last + 1] == cpus[last] + 1;) {
      ++last;
    }
    text += fmt::format("{}{}", text.empty() ? "" : ",", cpus[first]);
    text += last > first ? fmt::format("-{}", cpus[last]) : "";
  }
  return text;
}

std::optional<std::int64_t> NumberUpTo(std::string_view word, std::int64_t most) {
  const auto number = base::ParseInt(word);
  return number && *number >= 0 && *number <= most ? std::optional(*number) : std::nullopt;
}

template <std::size_t N>
bool IsOneOf(const std::array<std::string_view, N>& names, std::string_view word) {
  return std::find(names.begin(), names.end(), word) != names.end();
}

bool TakeCount(const Words& words, CpuTopology& topology) {
  const std::array<std::pair<std::string_view, int*>, 4> counts = {{
      {"packages", &topology.packages},
      {"cores", &topology.cores},
      {"threads", &topology.threads},
      {"nodes", &topology.numa_nodes},
  }};
  const auto count = std::find_if(counts.begin(), counts.end(),
                                  [&](const auto& each) { return each.first == words[0]; });
  const auto number = words.size() == 2 ? NumberUpTo(words[1], kMostCount) : std::nullopt;
  if (count == counts.end() || !number) {
    return false;
  }
  *count->second = static_cast<int>(*number);
  return true;
}

bool TakeCache(const Words& words, CpuTopology& topology) {
  if (words.size() != 5 || !IsOneOf(kCacheTypes, words[2]) ||
      topology.caches.size() >= kMostCaches) {
    return false;
  }
  const auto level = NumberUpTo(words[1], kMostCacheLevel);
  const auto bytes = NumberUpTo(words[3], kMostCacheBytes);
  const auto count = NumberUpTo(words[4], kMostCount);
  if (!level || !bytes || !count) {
    return false;
  }
  topology.caches.push_back(
      {static_cast<int>(*level), std::string(words[2]), *bytes, static_cast<int>(*count)});
  return true;
}

bool TakeKind(const Words& words, CpuTopology& topology) {
  if (words.size() < 3 || words.size() > 4 || !IsOneOf(kKindNames, words[1]) ||
      topology.kinds.size() >= kMostKinds) {
    return false;
  }
  const auto cores = NumberUpTo(words[2], kMostCount);
  auto cpus = ParseCpuList(words.size() == 4 ? words[3] : "");
  if (!cores || !cpus) {
    return false;
  }
  topology.kinds.push_back({std::string(words[1]), static_cast<int>(*cores), *std::move(cpus)});
  return true;
}

}  // namespace

std::string WriteTopologyText(const CpuTopology& topology) {
  std::string text = fmt::format("packages {}\ncores {}\nthreads {}\nnodes {}\n", topology.packages,
                                 topology.cores, topology.threads, topology.numa_nodes);
  for (const CpuCache& cache : topology.caches) {
    text += fmt::format("cache {} {} {} {}\n", cache.level, cache.type,
                        cache.size_bytes.value_or(0), cache.count);
  }
  for (const CpuTopology::Kind& kind : topology.kinds) {
    text += fmt::format("kind {} {} {}\n", kind.name, kind.cores, ListText(kind.cpus));
  }
  return text;
}

base::Result<CpuTopology> ParseTopologyText(std::string_view text) {
  CpuTopology topology;
  for (const std::string_view line : base::Split(base::Trim(text), '\n')) {
    const Words words = base::SplitWords(line);
    const bool taken = !words.empty() && (words[0] == "cache"  ? TakeCache(words, topology)
                                          : words[0] == "kind" ? TakeKind(words, topology)
                                                               : TakeCount(words, topology));
    if (!taken) {
      return base::Error{base::ErrorKind::kMalformed, "topology",
                         "found '" + base::Printable(line, 60) + "'"};
    }
  }
  return topology;
}

}  // namespace probes
