// SPDX-License-Identifier: Apache-2.0
//
// rigproof survey: what can be said without any load.

#include "cli/commands/run.h"
#include "cli/runs/surveying.h"
#include "cli/system/inputs.h"
#include "cli/system/record_folder.h"
#include "cli/system/result_files.h"
#include "cli/system/show.h"
#include "cli/system/write_file.h"
#include "report/assess/assess.h"

namespace cli {

base::Result<int> RunSurvey(const Options& options) {
  auto chosen = ReadChosenProfile(options);
  if (!chosen) {
    return chosen.error();
  }
  auto machine = OpenChosenMachine(options);
  if (!machine) {
    return machine.error();
  }
  if (!options.into.empty()) {
    if (auto prepared = PrepareFolder(options.into, "--into"); !prepared) {
      return prepared.error();
    }
  }
  const auto document = Survey(*chosen, machine->root, ChosenRecordFolder(options));
  if (!document) {
    return document.error();
  }
  auto shown = options.into.empty() ? ShowDocument(*document, options)
                                    : WriteResults(*document, options.into, options);
  if (!shown) {
    return shown.error();
  }
  return report::ExitStatus(document->verdict);
}

}  // namespace cli
