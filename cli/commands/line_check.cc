// SPDX-License-Identifier: Apache-2.0
//
// rigproof line-check: the real capture devices, all at once.

#include "report/line_check/line_check.h"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "base/clock.h"
#include "base/system/machine_root.h"
#include "cli/commands/run.h"
#include "cli/options/version.h"
#include "cli/runs/evidence.h"
#include "cli/system/inputs.h"
#include "cli/system/interrupt.h"
#include "cli/system/output_style.h"
#include "cli/system/pc_lock.h"
#include "cli/system/progress.h"
#include "cli/system/question.h"
#include "cli/system/show.h"
#include "cli/system/write_file.h"
#include "probes/line/kernel_log.h"
#include "probes/line/v4l2_line.h"
#include "probes/line/v4l2_nodes.h"
#include "probes/usb/tree.h"
#include "report/assess/assess.h"
#include "report/show/rows/line_check.h"
#include "report/show/terminal/blocks.h"
#include "report/words/cautions.h"
#include "report/words/quantities.h"

namespace cli {
namespace {

using probes::LineCheck;
using probes::LineDevice;

constexpr double kUsualSeconds = 20;

bool ToBeRun(const LineDevice& device) {
  return device.outcome == probes::LineOutcome::kNotTried;
}

/// The devices of the profile, or all that this PC has.
void ChooseDevices(const std::optional<ChosenProfile>& chosen, const probes::UsbInventory& usb,
                   LineCheck& check) {
  const base::MachineRoot root = base::MachineRoot::Live();
  probes::CaptureNodes found = probes::FindCaptureNodes(root, probes::AskNode);
  check.why_no_nodes = found.why_none;
  check.unreadable_processes = found.unreadable_processes;
  if (!chosen) {
    check.devices = report::EveryNode(found.nodes);
    return;
  }
  report::ChooseForProfile(chosen->profile, usb, found.nodes, check);
}

/// Whether devices that other programs hold may be opened too, and with them those that share
/// their links; else all are marked as left alone.
bool MayTouch(const Options& options, const std::stop_token& stop, LineCheck& check) {
  const std::string users = report::UsersText(check);
  if (users.empty() || options.even_in_use) {
    return true;
  }
  const std::string question =
      "rigproof: " + users + ". Checking may disturb what runs there. Go on all the same?";
  if (CanAsk() && AskYesOrNo(question, stop)) {
    return true;
  }
  report::LeaveAlone(check);
  return false;
}

void RunDevices(const Options& options, const std::stop_token& stop, LineCheck& check) {
  probes::LineRequest request;
  request.seconds = check.asked_seconds;
  std::copy_if(check.devices.begin(), check.devices.end(), std::back_inserter(request.devices),
               ToBeRun);
  if (request.devices.empty()) {
    return;
  }
  Caution(options, report::kDeviceCautions);
  // Never freed: a thread that hangs in a driver still looks at it.
  static const base::Clock* const clock = new base::SystemClock;
  ProgressDisplay progress(StyleForStandardError(options.quiet));
  progress.Begin(
      report::Plural(static_cast<std::int64_t>(request.devices.size()), "capture device"),
      request.seconds);
  probes::KernelLogTail log;
  probes::LineRun run = probes::RunLine(
      request, probes::MakeVideoPort, *clock, stop, [&](const probes::LineProgress& at) {
        progress.Note(at.all_begun ? report::FormatCount(at.lost) + " dropped" : "starting");
      });
  check.kernel_log = log.Finish();
  check.seconds = run.seconds;
  check.interrupted = run.interrupted;
  auto next = run.devices.begin();
  for (LineDevice& device : check.devices) {
    if (ToBeRun(device)) {
      device = std::move(*next++);
    }
  }
}

}  // namespace

base::Result<int> RunLineCheck(const Options& options) {
  std::optional<ChosenProfile> chosen;
  if (!options.profile.empty()) {
    auto read = ReadChosenProfile(options);
    if (!read) {
      return read.error();
    }
    chosen = *std::move(read);
  }
  const auto alone = PcLock::Take(options);
  if (!alone) {
    return alone.error();
  }
  const Interrupt interrupt;
  const probes::UsbInventory usb = probes::ReadUsb(base::MachineRoot::Live());
  LineCheck check;
  check.started_at = UtcNow();
  check.program_version = ProgramVersion();
  check.asked_seconds = options.seconds > 0 ? options.seconds : kUsualSeconds;
  ChooseDevices(chosen, usb, check);
  if (MayTouch(options, interrupt.Token(), check)) {
    RunDevices(options, interrupt.Token(), check);
  }
  const report::LineDocument document = report::JudgeLineCheck(std::move(check), usb);
  auto printed =
      PrintOut(options.json ? report::LineCheckJson(document)
                            : report::WriteSheets({report::SheetOf(document)}, OutputStyle()));
  if (!printed) {
    return printed.error();
  }
  return report::ExitStatus(document.verdict);
}

}  // namespace cli
