// SPDX-License-Identifier: Apache-2.0

#include <string>
#include <vector>

#include <fmt/format.h>

#include "report/quantities.h"
#include "report/write_terminal_machine.h"
#include "report/write_terminal_table.h"

namespace report {
namespace {

std::string Side(const base::Reading<double>& speed, const base::Reading<int>& width) {
  if (!speed && !width) {
    return "unknown";
  }
  return (speed ? FormatNumber(*speed) + " GT/s" : "speed unknown") +
         (width ? fmt::format(" x{}", *width) : ", width unknown");
}

std::string LinkText(const probes::PciLink& link) {
  const std::string now = Side(link.speed_gts, link.width);
  const std::string best = Side(link.best_speed_gts, link.best_width);
  if (now == "unknown" && best == "unknown") {
    return "link unknown: " + link.speed_gts.why_unknown();
  }
  return now == best ? "link " + now : "link " + now + " now, " + best + " at most";
}

void PutDevices(TerminalPage& page, const char* what, const std::vector<probes::PciDevice>& all) {
  for (const probes::PciDevice& device : all) {
    page.Fact(what, device.name);
    const auto nodes = device.video_nodes.value_or({});
    page.Fact(
        "", fmt::format("{}, driver {}{}{}, {}", device.address, DriverText(device.driver),
                        nodes.empty() ? "" : ", ", fmt::join(nodes, ", "), LinkText(device.link)));
  }
}

const char* Kind(const probes::CodecTrial& trial) {
  return trial.hardware ? "hardware" : "software";
}

void PutRefused(TerminalPage& page, const std::vector<const probes::CodecTrial*>& refused) {
  for (const probes::CodecTrial* trial : refused) {
    page.Beside(2, {"refused"}, 9,
                {fmt::format("{} ({} {} {}): {}", trial->name, Kind(*trial), trial->codec,
                             trial->encoder ? "encoder" : "decoder",
                             trial->refusal.empty() ? "no reason given" : trial->refusal)});
  }
}

void PutTrials(TerminalPage& page, const std::vector<probes::CodecTrial>& trials, bool encoders) {
  TerminalTable table;
  table.columns = {{encoders ? "encoder" : "decoder", false, 10}, {"codec"}, {"kind"}};
  if (encoders) {
    table.columns.push_back({"at once", false, 10});
  }
  std::vector<const probes::CodecTrial*> refused;
  for (const probes::CodecTrial& trial : trials) {
    if (trial.encoder != encoders) {
      continue;
    }
    if (!trial.works) {
      refused.push_back(&trial);
      continue;
    }
    table.rows.push_back({{trial.name}, {trial.codec}, {Kind(trial)}});
    if (encoders) {
      const auto sessions = [](int count) { return Plural(count, "session"); };
      table.rows.back().push_back(
          {trial.hardware ? TextOf(trial.sessions, sessions) : "as the CPU allows"});
    }
  }
  PutTable(page, 2, table);
  PutRefused(page, refused);
}

}  // namespace

void PutGpu(TerminalPage& page, const probes::GpuInventory& gpu) {
  page.Heading("Graphics and capture cards");
  if (!gpu.present) {
    page.FactUnknown("graphics", gpu.present.why_unknown());
  } else if (!*gpu.present && gpu.adapters.empty()) {
    page.Fact("graphics", "none");
  }
  PutDevices(page, "graphics", gpu.adapters);
  PutDevices(page, "capture card", gpu.capture_cards);
}

void PutCodecs(TerminalPage& page, const probes::CodecInventory& codecs) {
  page.Heading("Encoders and decoders, opened and made to run");
  if (!codecs.tried || !*codecs.tried) {
    page.FactUnknown("encoders", codecs.tried ? "not tried" : codecs.tried.why_unknown());
    return;
  }
  if (!codecs.ffmpeg_version.empty()) {
    page.Fact("FFmpeg", codecs.ffmpeg_version);
  }
  PutTrials(page, codecs.trials, true);
  PutTrials(page, codecs.trials, false);
}

}  // namespace report
