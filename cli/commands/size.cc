// SPDX-License-Identifier: Apache-2.0
//
// rigproof size: whether a stored result has room for more, and what to change or buy.

#include "report/predict/size.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "cli/commands/run.h"
#include "cli/runs/evidence.h"
#include "cli/runs/measuring.h"
#include "cli/runs/stored_results.h"
#include "cli/runs/wishes.h"
#include "cli/system/output_style.h"
#include "cli/system/pc_lock.h"
#include "cli/system/record_folder.h"
#include "cli/system/show.h"
#include "cli/system/write_file.h"
#include "probes/data/inventory.h"
#include "probes/take_inventory.h"
#include "profiles/text/change.h"
#include "report/assess/assess.h"
#include "report/show/rows/sizing.h"
#include "report/show/terminal/blocks.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

// Whether a stored result is of this PC, as far as can be told.

template <typename T>
std::string Differs(const char* what, const base::Reading<T>& stored,
                    const base::Reading<T>& here) {
  if (!stored.known() || !here.known() || *stored == *here) {
    return "";
  }
  return fmt::format("{}: {} in the result, {} here", what, *stored, *here);
}

/// What speaks against it, one line; empty where nothing does. Names of PCs are not stored: CPU,
/// threads, memory and kernel's view of them are compared.
std::string WhyNotThisPc(const probes::Inventory& stored, const probes::Inventory& here) {
  if (!stored.live) {
    return "the result is of a machine captured elsewhere";
  }
  for (const std::string& why : {Differs("CPU", stored.cpu.model, here.cpu.model),
                                 Differs("CPU threads", stored.cpu.threads, here.cpu.threads),
                                 Differs("CPU packages", stored.cpu.packages, here.cpu.packages)}) {
    if (!why.empty()) {
      return base::Printable(why);
    }
  }
  // A kernel update moves the memory that is left for programs by a little.
  constexpr double kSameMemory = 0.02;
  const auto& was = stored.cpu.memory_bytes;
  const auto& is = here.cpu.memory_bytes;
  if (was.known() && is.known() &&
      std::abs(static_cast<double>(*was) - static_cast<double>(*is)) >
          kSameMemory * static_cast<double>(*was)) {
    return fmt::format("memory: {} in the result, {} here",
                       base::FormatBytes(static_cast<double>(*was)),
                       base::FormatBytes(static_cast<double>(*is)));
  }
  constexpr double kSameCpus = 0.01;
  const auto& had = stored.cpu.usable_cpus;
  const auto& have = here.cpu.usable_cpus;
  if (had.known() && have.known() && std::abs(*had - *have) > kSameCpus * *had) {
    return fmt::format("usable CPUs: {:.3g} in the result, {:.3g} here", *had, *have);
  }
  return "";
}

namespace fs = std::filesystem;

constexpr double kConfirmSeconds = 30;

base::Error Invalid(std::string where, std::string detail) {
  return {base::ErrorKind::kInvalid, std::move(where), std::move(detail)};
}

/// A folder's place-holder cannot be written to.
base::Status CheckFolderNames(const profiles::Profile& profile) {
  const bool second = std::any_of(
      profile.outputs.begin(), profile.outputs.end(),
      [](const profiles::Output& output) { return output.folder == profiles::kSecondDisk; });
  if (second) {
    return Invalid("--confirm",
                   "found a second disk that stands for one to be bought; allowed for "
                   "a rehearsal: a folder on it, as --change isos.folder=/media/second");
  }
  return base::Done{};
}

base::Result<report::Document> Rehearse(const profiles::Profile& profile, const Options& options) {
  const auto alone = PcLock::Take(options);
  if (!alone) {
    return alone.error();
  }
  Durations durations;
  durations.rehearsal_s = options.seconds > 0 ? options.seconds : kConfirmSeconds;
  durations.flat_out_s = DurationsOf(Length::kQuick, profile).flat_out_s;
  Measuring measuring(options, {profile, "the production asked about", "."},
                      ChosenRecordFolder(options), durations,
                      StartEvidence(profile, report::kRehearsalOnly));
  if (auto checked = measuring.CheckFolders(); !checked) {
    return checked.error();
  }
  if (auto checked = measuring.CheckInputs(); !checked) {
    return checked.error();
  }
  Caution(options, report::kLoadCautions);
  measuring.TakeInventory();
  if (auto rehearsed = measuring.Rehearse(); !rehearsed) {
    return rehearsed.error();
  }
  return measuring.Finish();
}

base::Status Confirm(const report::Evidence& stored, const profiles::Profile& wanted,
                     const Options& options, report::Sizing& sizing) {
  if (auto named = CheckFolderNames(wanted); !named) {
    return named;
  }
  const std::string other =
      WhyNotThisPc(stored.inventory,
                   probes::TakeInventory(base::MachineRoot::Live(), probes::InventoryRequest{}));
  if (!other.empty()) {
    return Invalid("--confirm", "the result is not of this PC (" + other +
                                    "); allowed: a result of the PC that this runs on");
  }
  const auto document = Rehearse(wanted, options);
  if (!document) {
    return document.error();
  }
  report::AddCheck(*document, sizing);
  return base::Done{};
}

report::Verdict Answer(const report::Sizing& sizing) {
  return sizing.check && sizing.check->not_done.empty() ? sizing.check->verdict : sizing.verdict;
}

}  // namespace

base::Result<int> RunSize(const Options& options) {
  if (options.added.empty() && options.changes.empty()) {
    return Invalid("command line",
                   "found nothing to size; allowed: --add SOURCE, --change "
                   "WHERE.WHAT=VALUE, or several of them");
  }
  const std::string& name = options.results.front();
  auto document = ReadStoredResult(name);
  if (!document) {
    return document.error();
  }
  const report::NamedDocument stored{name, *std::move(document)};
  const auto wanted =
      WithWishes(stored.document.evidence.profile, {options.added, options.changes});
  if (!wanted) {
    return wanted.error();
  }
  report::Sizing sizing = report::SizeUp(stored, *wanted);
  if (options.confirm) {
    if (auto done = Confirm(stored.document.evidence, *wanted, options, sizing); !done) {
      return done.error();
    }
  }
  if (auto shown =
          PrintOut(options.json ? report::SizingJson(sizing)
                                : report::WriteSheets({report::SheetOf(sizing)}, OutputStyle()));
      !shown) {
    return shown.error();
  }
  return report::ExitStatus(Answer(sizing));
}

}  // namespace cli
