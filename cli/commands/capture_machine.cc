// SPDX-License-Identifier: Apache-2.0
//
// rigproof capture-machine: this PC as an archive to be assessed elsewhere.

#include "probes/captured/capture_machine.h"

#include <string>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "cli/commands/run.h"
#include "cli/system/interrupt.h"
#include "cli/system/question.h"
#include "cli/system/write_file.h"

namespace cli {
namespace {

std::string Text(const std::string& out, const probes::CaptureSummary& summary) {
  std::string text = fmt::format(
      "captured {} files and {} links, {}, into {}\n", summary.files, summary.links,
      base::FormatBytes(static_cast<double>(summary.unpacked_bytes)), base::Printable(out, 400));
  for (const std::string& line : summary.left_out) {
    text += "left out: " + line + "\n";
  }
  return text + "next: rigproof survey PROFILE --machine " + base::Printable(out, 400) + "\n";
}

std::string Json(const std::string& out, const probes::CaptureSummary& summary) {
  const nlohmann::ordered_json json = {{"format", "rigproof-capture"},
                                       {"version", 1},
                                       {"archive", base::Printable(out, 4096)},
                                       {"files", summary.files},
                                       {"links", summary.links},
                                       {"unpacked_bytes", summary.unpacked_bytes},
                                       {"left_out", summary.left_out}};
  return json.dump(2) + "\n";
}

}  // namespace

base::Result<int> RunCaptureMachine(const Options& options) {
  const Interrupt interrupt;
  auto if_there = options.replace ? probes::IfThere::kReplace : probes::IfThere::kRefuse;
  // What may not be written over at all is not asked about.
  if (CanAsk() && probes::IsThere(options.out) &&
      probes::MayBeMade(options.out, probes::IfThere::kReplace) &&
      if_there == probes::IfThere::kRefuse &&
      AskYesOrNo(base::Printable(options.out, 400) + " is there already. Write over it?",
                 interrupt.Token())) {
    if_there = probes::IfThere::kReplace;
  }
  auto summary =
      probes::CaptureMachine(base::MachineRoot::Live(), options.out, if_there, interrupt.Token());
  if (!summary) {
    return summary.error();
  }
  auto printed = PrintOut(options.json ? Json(options.out, *summary) : Text(options.out, *summary));
  if (!printed) {
    return printed.error();
  }
  return 0;
}

}  // namespace cli
