// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/watch_texts.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstring>

#include "base/text.h"

namespace probes {
namespace {

/// Takes words off the front of a text, without memory of its own.
class Words {
 public:
  explicit Words(std::string_view text) : rest_(text) {}

  std::string_view Next() {
    const std::size_t from = std::min(rest_.find_first_not_of(" \t"), rest_.size());
    rest_.remove_prefix(from);
    const std::size_t to = std::min(rest_.find_first_of(" \t"), rest_.size());
    const std::string_view word = rest_.substr(0, to);
    rest_.remove_prefix(to);
    return word;
  }
  std::optional<std::int64_t> Number() { return base::ParseInt(Next()); }

  /// The next numbers into `values`; false when one is missing.
  template <std::size_t kCount>
  bool Numbers(std::array<std::int64_t, kCount>& values) {
    for (std::int64_t& value : values) {
      const auto number = Number();
      if (!number) {
        return false;
      }
      value = *number;
    }
    return true;
  }

 private:
  std::string_view rest_;
};

/// Calls `seen` with each line.
template <typename Seen>
void ForEachLine(std::string_view text, Seen seen) {
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    seen(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
}

/// "name:   value" -> value.
std::optional<std::string_view> After(std::string_view line, std::string_view name) {
  if (!line.starts_with(name) || line.size() <= name.size() || line[name.size()] != ':') {
    return std::nullopt;
  }
  return base::Trim(line.substr(name.size() + 1));
}

/// "drm-engine-video: 123 ns" -> {"video", 123}, for the prefix "drm-engine-".
std::optional<std::pair<std::string_view, std::int64_t>> Keyed(std::string_view line,
                                                               std::string_view prefix) {
  const std::size_t colon = line.find(':');
  if (!line.starts_with(prefix) || colon == std::string_view::npos || colon <= prefix.size()) {
    return std::nullopt;
  }
  const auto value = Words(line.substr(colon + 1)).Number();
  if (!value || *value < 0) {
    return std::nullopt;
  }
  return std::pair(line.substr(prefix.size(), colon - prefix.size()), *value);
}

constexpr std::size_t kMostEngines = 64;
constexpr std::size_t kLongestName = 40;

/// A text to put one more value of an engine into; null when there are too many.
DrmEngine* EngineNamed(std::vector<DrmEngine>& engines, std::string_view name) {
  const std::string shown = base::Printable(name, kLongestName);
  const auto known = std::find_if(engines.begin(), engines.end(),
                                  [&](const DrmEngine& engine) { return engine.name == shown; });
  if (known != engines.end()) {
    return &*known;
  }
  if (engines.size() >= kMostEngines) {
    return nullptr;
  }
  engines.push_back({shown, 0, 0, 0, 1});
  return &engines.back();
}

/// One line about an engine. "capacity" has to be asked for before the engine of that name.
void TakeEngineLine(std::string_view line, std::vector<DrmEngine>& engines) {
  struct Kind {
    std::string_view prefix;
    std::int64_t DrmEngine::*member;
  };
  static constexpr std::array<Kind, 4> kKinds{{{"drm-engine-capacity-", &DrmEngine::capacity},
                                               {"drm-engine-", &DrmEngine::busy_ns},
                                               {"drm-cycles-", &DrmEngine::busy_cycles},
                                               {"drm-total-cycles-", &DrmEngine::total_cycles}}};
  for (const Kind& kind : kKinds) {
    const auto value = Keyed(line, kind.prefix);
    if (!value) {
      continue;
    }
    if (DrmEngine* engine = EngineNamed(engines, value->first)) {
      engine->*kind.member = value->second;
      engine->capacity = std::max<std::int64_t>(1, engine->capacity);
    }
    return;
  }
}

}  // namespace

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

std::optional<std::int64_t> ParseDatagramsDropped(std::string_view snmp_text) {
  // A line of names and a line of values, both beginning with "Udp:".
  std::string_view names;
  std::optional<std::int64_t> dropped;
  ForEachLine(snmp_text, [&](std::string_view line) {
    if (!line.starts_with("Udp:")) {
      return;
    }
    if (names.empty()) {
      names = line;
      return;
    }
    Words name(names);
    Words value(line);
    for (std::string_view word = name.Next(); !word.empty(); word = name.Next()) {
      const std::string_view text = value.Next();
      if (word == "RcvbufErrors") {
        dropped = base::ParseInt(text);
      }
    }
  });
  return dropped;
}

namespace {

constexpr int kHex = 16;

/// One row of an established socket among `sockets`:
/// sl local_address rem_address st tx_queue:rx_queue tr:when retrnsmt uid timeout inode.
struct TcpRow {
  std::string_view local;
  std::string_view remote;
  std::string_view queues;
};

template <typename Take>
void ForEachConnection(std::string_view tcp_text, const std::set<std::int64_t>& sockets,
                       const Take& take) {
  constexpr std::string_view kEstablished = "01";
  ForEachLine(tcp_text, [&](std::string_view line) {
    Words words(line);
    words.Next();
    TcpRow row;
    row.local = words.Next();
    row.remote = words.Next();
    const std::string_view state = words.Next();
    row.queues = words.Next();
    for (int skipped = 0; skipped < 4; ++skipped) {
      words.Next();
    }
    const auto inode = words.Number();
    if (state == kEstablished && inode && sockets.contains(*inode)) {
      take(row);
    }
  });
}

/// "0100007F:1F90": words of an address as the host reads them, then the port.
bool ParseEnd(std::string_view text, std::array<std::uint8_t, 16>& address, std::uint16_t& port,
              bool& v6) {
  constexpr std::size_t kWordDigits = 8;
  const auto colon = text.find(':');
  if (colon == std::string_view::npos || (colon != kWordDigits && colon != 4 * kWordDigits)) {
    return false;
  }
  v6 = colon > kWordDigits;
  for (std::size_t word = 0; word * kWordDigits < colon; ++word) {
    const auto value = base::ParseInt(text.substr(word * kWordDigits, kWordDigits), kHex);
    if (!value || *value < 0) {
      return false;
    }
    const auto host = static_cast<std::uint32_t>(*value);
    std::memcpy(address.data() + 4 * word, &host, sizeof host);
  }
  const auto number = base::ParseInt(text.substr(colon + 1), kHex);
  if (!number || *number < 0 || *number > UINT16_MAX) {
    return false;
  }
  port = static_cast<std::uint16_t>(*number);
  return true;
}

}  // namespace

std::optional<std::int64_t> ParseSendQueues(std::string_view tcp_text,
                                            const std::set<std::int64_t>& sockets) {
  std::optional<std::int64_t> waiting;
  ForEachConnection(tcp_text, sockets, [&](const TcpRow& row) {
    if (const auto bytes = base::ParseInt(row.queues.substr(0, row.queues.find(':')), kHex)) {
      waiting = waiting.value_or(0) + *bytes;
    }
  });
  return waiting;
}

std::vector<TcpEnds> ParseConnections(std::string_view tcp_text,
                                      const std::set<std::int64_t>& sockets) {
  std::vector<TcpEnds> connections;
  ForEachConnection(tcp_text, sockets, [&](const TcpRow& row) {
    TcpEnds ends;
    bool remote_v6 = false;
    if (ParseEnd(row.local, ends.local, ends.local_port, ends.v6) &&
        ParseEnd(row.remote, ends.remote, ends.remote_port, remote_v6) && ends.v6 == remote_v6) {
      connections.push_back(ends);
    }
  });
  return connections;
}

std::optional<std::int64_t> ParseSocketLink(std::string_view target) {
  constexpr std::string_view kBefore = "socket:[";
  if (!target.starts_with(kBefore) || !target.ends_with(']')) {
    return std::nullopt;
  }
  return base::ParseInt(target.substr(kBefore.size(), target.size() - kBefore.size() - 1));
}

std::vector<std::int64_t> ParseInterruptTicks(std::string_view stat_text) {
  std::vector<std::int64_t> ticks;
  ForEachLine(stat_text, [&ticks](std::string_view line) {
    if (!line.starts_with("cpu") || line.starts_with("cpu ")) {
      return;
    }
    Words words(line);
    words.Next();
    // user nice system idle iowait irq softirq
    std::array<std::int64_t, 7> fields{};
    ticks.push_back(words.Numbers(fields) ? fields[5] + fields[6] : 0);
  });
  return ticks;
}

char ParseProcessState(std::string_view stat_text) {
  // The name stands in parentheses and may hold some itself.
  const std::size_t end = stat_text.rfind(')');
  return end != std::string_view::npos && end + 2 < stat_text.size() ? stat_text[end + 2] : '\0';
}

std::optional<OpenFile> ParseOpenFile(std::string_view fdinfo_text) {
  OpenFile file;
  bool any = false;
  ForEachLine(fdinfo_text, [&](std::string_view line) {
    if (const auto position = After(line, "pos")) {
      file.position = base::ParseInt(*position).value_or(0);
      any = true;
    } else if (const auto flags = After(line, "flags")) {
      // Octal; the lowest digit's lowest two bits are the way of access, 0 is reading only.
      const char last = flags->empty() ? '0' : flags->back();
      file.for_writing = last >= '0' && last <= '7' && ((last - '0') & 3) != 0;
    } else if (const auto mount = After(line, "mnt_id")) {
      file.mount = static_cast<int>(
          std::clamp<std::int64_t>(base::ParseInt(*mount).value_or(0), 0, 1'000'000'000));
    }
  });
  return any ? std::optional(file) : std::nullopt;
}

std::optional<std::int64_t> ParseWrittenChars(std::string_view io_text) {
  std::optional<std::int64_t> written;
  ForEachLine(io_text, [&written](std::string_view line) {
    if (const auto value = After(line, "wchar")) {
      written = base::ParseInt(*value);
    }
  });
  return written;
}

std::optional<std::pair<std::int64_t, std::int64_t>> ParseSystemCall(std::string_view text) {
  const auto words = base::SplitWords(text);
  const auto call = !words.empty() ? base::ParseInt(words[0]) : std::nullopt;
  const auto argument = words.size() > 1 ? base::ParseInt(words[1], kHex) : std::nullopt;
  return call && *call >= 0 && argument ? std::optional(std::pair(*call, *argument)) : std::nullopt;
}

std::optional<DrmClient> ParseDrmClient(std::string_view fdinfo_text) {
  DrmClient client;
  ForEachLine(fdinfo_text, [&client](std::string_view line) {
    if (const auto driver = After(line, "drm-driver")) {
      client.driver = base::Printable(*driver, kLongestName);
    } else if (const auto device = After(line, "drm-pdev")) {
      client.device = base::Printable(*device, kLongestName);
    } else if (const auto id = After(line, "drm-client-id")) {
      client.id = base::ParseInt(*id).value_or(0);
    } else {
      TakeEngineLine(line, client.engines);
    }
  });
  return client.driver.empty() ? std::nullopt : std::optional(client);
}

}  // namespace probes
