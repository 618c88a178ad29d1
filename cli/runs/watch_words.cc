// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/watch_words.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/text.h"

namespace cli {
namespace {

std::string Clock(double seconds) {
  const auto whole = static_cast<std::int64_t>(std::max(0.0, seconds));
  return fmt::format("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
}

std::string OrUnknown(const std::optional<double>& value, const char* unit, int decimals) {
  return value ? fmt::format("{:.{}f}{}", *value, decimals, unit) : "unknown";
}

/// ", 3 lines of trouble in the kernel's log (usb-errors 2, ...)"; empty without any.
std::string Troubles(const probes::WatchState& state) {
  std::int64_t all = 0;
  std::string causes;
  for (const auto& [cause, lines] : state.kernel_causes) {
    all += lines;
    causes += fmt::format("{}{} {}", causes.empty() ? "" : ", ", cause, lines);
  }
  return all == 0 ? ""
                  : fmt::format("{} of known trouble in the kernel's log ({})",
                                all == 1 ? "1 line" : fmt::format("{} lines", all), causes);
}

std::string Cut(std::string line, int columns) {
  const auto most = static_cast<std::size_t>(std::max(10, columns - 1));
  if (line.size() > most) {
    // Names may be longer than ASCII: never cut within a character.
    std::size_t end = most;
    while (end > 0 && (static_cast<unsigned char>(line[end]) & 0xC0U) == 0x80U) {
      --end;
    }
    line.resize(end);
  }
  return line;
}

/// "own 1.20 (waits 0.01), all 1.92 of 8 CPUs".
std::string CpuWords(const probes::WatchState& state) {
  const probes::TelemetrySample& pc = state.second.pc;
  std::string words;
  if (state.second.program_runs) {
    words = fmt::format("own {} (waits {}), ", OrUnknown(pc.own_cpus, "", 2),
                        OrUnknown(pc.run_wait_cpus, "", 2));
  }
  return words + fmt::format("all {} of {} CPUs", OrUnknown(pc.busy_cpus, "", 2), state.head.cpus);
}

std::string DiskWords(const probes::WatchState& state) {
  const probes::TelemetrySample& pc = state.second.pc;
  if (!pc.disk_write_bytes_per_second) {
    return "disk unknown";
  }
  return fmt::format("disk {} busy {}", base::FormatBytesPerSecond(*pc.disk_write_bytes_per_second),
                     OrUnknown(pc.disk_busy_percent, " %", 0));
}

std::string PressureWords(const probes::WatchState& state) {
  const probes::TelemetrySample& pc = state.second.pc;
  return fmt::format(
      "waiting for CPU {}, disk {}, memory {}", OrUnknown(pc.cpu_pressure_percent, " %", 0),
      OrUnknown(pc.io_pressure_percent, " %", 0), OrUnknown(pc.memory_pressure_percent, " %", 0));
}

std::string LogWords(const probes::WatchState& state) {
  return state.failure ? "NOT WRITING: " + state.failure->where
                       : "log " + base::FormatBytes(static_cast<double>(state.log_bytes));
}

}  // namespace

std::string WatchedProgram(const probes::WatchState& state) {
  if (state.program.empty() && !state.program_before.empty()) {
    return state.program_before + ", which has ended";
  }
  if (state.program.empty()) {
    return state.head.program.empty()
               ? "no program yet: none is busy enough to be the mixing software"
               : "no program yet: none is called \"" + base::Printable(state.head.program, 40) +
                     "\"";
  }
  return fmt::format(
      "{} ({}), {}", state.program, state.program_pid,
      state.program_as_asked ? "as asked" : "the busiest, as --program names no other");
}

std::vector<std::string> WatchView(const probes::WatchState& state, int columns) {
  const std::string program = !state.program.empty()         ? state.program
                              : state.program_before.empty() ? "no program yet"
                                                             : state.program_before + " (ended)";
  std::string first =
      fmt::format("{}  {}  {}", Clock(state.second.pc.at_s), program, LogWords(state));
  if (const std::string troubles = Troubles(state); !troubles.empty()) {
    first += "  " + troubles;
  }
  return {Cut(first, columns),
          Cut(CpuWords(state) + "  " + DiskWords(state) + "  " + PressureWords(state), columns)};
}

std::string WatchLine(const probes::WatchState& state) {
  std::string line = fmt::format("{}  {}  {}  {}  {}", Clock(state.second.pc.at_s), CpuWords(state),
                                 DiskWords(state), PressureWords(state), LogWords(state));
  if (const std::string troubles = Troubles(state); !troubles.empty()) {
    line += "  " + troubles;
  }
  return line;
}

std::string WatchSummaryText(const probes::WatchState& state, const std::string& log,
                             const WatchCost& cost) {
  std::string text = fmt::format("Watched {} for {}: {} samples\n", WatchedProgram(state),
                                 base::FormatSeconds(cost.seconds), state.samples);
  const double hours = cost.seconds / 3600;
  text += fmt::format("Log: {}, {}", base::Printable(log),
                      base::FormatBytes(static_cast<double>(state.log_bytes)));
  if (cost.seconds >= 60) {
    text += fmt::format(" ({} an hour)",
                        base::FormatBytes(static_cast<double>(state.log_bytes) / hours));
  }
  text += "\n";
  if (state.seconds_lost > 0) {
    text += fmt::format("The log's disk took nothing for long: {} s of samples are lost\n",
                        state.seconds_lost);
  }
  if (state.kernel_lines) {
    const std::string troubles = Troubles(state);
    text += fmt::format("Kernel's log: {} new lines, {}\n", *state.kernel_lines,
                        troubles.empty() ? "none of known trouble" : troubles);
  }
  if (!state.not_read.empty()) {
    text += "Could not be read:\n";
    for (const std::string& what : state.not_read) {
      text += "  " + what + "\n";
    }
  }
  text += fmt::format("The watch itself: {:.2f} % of one CPU, {} of memory\n",
                      cost.seconds > 0 ? 100 * cost.cpu_seconds / cost.seconds : 0.0,
                      base::FormatBytes(cost.memory_bytes));
  return text;
}

std::string WatchSummaryJson(const probes::WatchState& state, const std::string& log,
                             const WatchCost& cost) {
  nlohmann::ordered_json json;
  json["format"] = "rigproof-watch";
  json["version"] = 1;
  json["complete"] = !state.failure.has_value();
  json["log"] = base::Printable(log, 4000);
  json["began_at"] = state.head.began_at;
  json["seconds"] = cost.seconds;
  json["samples"] = state.samples;
  json["log_bytes"] = state.log_bytes;
  json["seconds_lost"] = state.seconds_lost;
  json["program"] = nullptr;
  if (!state.program.empty()) {
    json["program"] = {
        {"name", state.program}, {"pid", state.program_pid}, {"as_asked", state.program_as_asked}};
  }
  json["kernel_lines"] = nullptr;
  if (state.kernel_lines) {
    json["kernel_lines"] = *state.kernel_lines;
  }
  json["kernel_troubles"] = nlohmann::ordered_json::object();
  for (const auto& [cause, lines] : state.kernel_causes) {
    json["kernel_troubles"][cause] = lines;
  }
  json["not_read"] = state.not_read;
  json["failure"] = nullptr;
  if (state.failure) {
    json["failure"] = state.failure->where + ": " + state.failure->detail;
  }
  json["cost"] = {{"cpu_percent", cost.seconds > 0 ? 100 * cost.cpu_seconds / cost.seconds : 0.0},
                  {"memory_bytes", cost.memory_bytes}};
  return json.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
}

}  // namespace cli
