// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/process_texts.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstring>

#include "base/text.h"
#include "probes/procfs/lines.h"

namespace probes {
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

base::Result<ProcessTicks> ParseProcessTicks(std::string_view stat_text) {
  const auto malformed = [] {
    return base::Error{base::ErrorKind::kMalformed, "/proc/PID/stat", "not the line of a process"};
  };
  const auto open = stat_text.find('(');
  const auto close = stat_text.rfind(')');
  if (open == std::string_view::npos || close == std::string_view::npos || close < open) {
    return malformed();
  }
  const auto pid = base::ParseInt(base::Trim(stat_text.substr(0, open)));
  Words words(stat_text.substr(close + 1));
  const std::string_view state = words.Next();  // field 3 of proc_pid_stat(5)
  constexpr std::size_t kFirst = 4;
  constexpr std::size_t kLast = 22;
  std::array<std::string_view, kLast + 1> fields;
  for (std::size_t field = kFirst; field <= kLast; ++field) {
    fields.at(field) = words.Next();
  }
  constexpr std::array<std::size_t, 8> kNumbers{4, 12, 14, 15, 16, 17, 20, 22};
  std::array<std::int64_t, kNumbers.size()> values{};
  for (std::size_t i = 0; i < kNumbers.size(); ++i) {
    const auto value = base::ParseInt(fields.at(kNumbers.at(i)));
    if (!value) {
      return malformed();
    }
    values.at(i) = *value;
  }
  if (!pid) {
    return malformed();
  }
  ProcessTicks process;
  process.pid = static_cast<int>(*pid);
  process.name = base::Printable(stat_text.substr(open + 1, close - open - 1), 60);
  process.state = state.front();
  process.parent = static_cast<int>(values[0]);
  process.major_faults = values[1];
  process.own = values[2] + values[3];
  process.children = values[4] + values[5];
  process.threads = static_cast<int>(values[6]);
  process.start = values[7];
  return process;
}

std::optional<ThreadTimes> ParseThreadTimes(std::string_view schedstat_text) {
  Words words(schedstat_text);
  std::array<std::int64_t, 2> times{};
  return words.Numbers(times) ? std::optional(ThreadTimes{times[0], times[1]}) : std::nullopt;
}

ProcessIo ParseProcessIo(std::string_view io_text) {
  ProcessIo io;
  std::array<std::optional<std::int64_t>, 3> disk;
  constexpr std::array<std::string_view, 3> kDisk{"read_bytes", "write_bytes",
                                                  "cancelled_write_bytes"};
  ForEachLine(io_text, [&](std::string_view line) {
    if (const auto written = After(line, "wchar")) {
      io.written_chars = base::ParseInt(*written);
    }
    for (std::size_t i = 0; i < kDisk.size(); ++i) {
      const auto value = After(line, kDisk.at(i));
      const auto number = value ? base::ParseInt(*value) : std::nullopt;
      if (number && *number >= 0 && *number <= INT64_MAX / 4) {
        disk.at(i) = *number;
      }
    }
  });
  if (disk[0] && disk[1] && disk[2]) {
    io.disk_bytes = std::max<std::int64_t>(0, *disk[0] + *disk[1] - *disk[2]);
  }
  return io;
}

std::optional<std::int64_t> ParseResidentPages(std::string_view statm_text) {
  Words words(statm_text);
  words.Next();  // size of all
  return words.Number();
}

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

std::optional<std::pair<std::int64_t, std::int64_t>> ParseSystemCall(std::string_view text) {
  Words words(text);
  const auto call = words.Number();
  const auto argument = base::ParseInt(words.Next(), kHex);
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
