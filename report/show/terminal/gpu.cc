// SPDX-License-Identifier: Apache-2.0

#include <string>
#include <vector>

#include <fmt/format.h>

#include "report/show/terminal/machine.h"
#include "report/show/terminal/pcie_lines.h"
#include "report/show/terminal/table.h"
#include "report/words/quantities.h"

namespace report {
namespace {

std::string LinkText(const LinkWords& words) {
  if (words.best.empty() || words.best == words.now) {
    return "link " + words.now;
  }
  return "link " + words.now + " now, " + words.best + " at most";
}

void PutDevices(TerminalPage& page, const char* what, const probes::Inventory& machine,
                const std::vector<probes::PciDevice>& all) {
  for (const probes::PciDevice& device : all) {
    page.Fact(what, device.name);
    const auto nodes = device.video_nodes.value_or({});
    page.Fact("", fmt::format("{}, driver {}{}{}, {}", device.address, DriverText(device.driver),
                              nodes.empty() ? "" : ", ", fmt::join(nodes, ", "),
                              LinkText(LinkWordsOf(machine, device))));
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

void PutGpu(TerminalPage& page, const probes::Inventory& machine) {
  const probes::GpuInventory& gpu = machine.gpu;
  page.Heading("Graphics and capture cards");
  if (!gpu.present) {
    page.FactUnknown("graphics", gpu.present.why_unknown());
  } else if (!*gpu.present && gpu.adapters.empty()) {
    page.Fact("graphics", "none");
  }
  PutDevices(page, "graphics", machine, gpu.adapters);
  PutDevices(page, "capture card", machine, gpu.capture_cards);
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
