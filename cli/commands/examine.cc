// SPDX-License-Identifier: Apache-2.0
//
// rigproof examine: what the timestamps of recordings tell.

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "cli/commands/run.h"
#include "cli/system/interrupt.h"
#include "cli/system/outcome.h"
#include "cli/system/output_style.h"
#include "cli/system/progress.h"
#include "cli/system/write_file.h"
#include "probes/recording/read_recording.h"
#include "report/data/recording.h"
#include "report/show/rows/recording.h"
#include "report/show/terminal/blocks.h"

namespace cli {
namespace {

/// Each recording by itself, or all files as one.
std::vector<probes::RecordingRequest> Requests(const Options& options) {
  std::vector<probes::RecordingRequest> requests;
  for (const std::string& name : options.recordings) {
    if (options.in_sequence && !requests.empty()) {
      requests.front().files.emplace_back(name);
      continue;
    }
    requests.push_back({name, {std::filesystem::path(name)}, options.decode});
  }
  if (options.in_sequence && requests.front().files.size() > 1) {
    requests.front().name += fmt::format(" and {} after it", requests.front().files.size() - 1);
  }
  return requests;
}

base::Result<probes::Recording> Read(const probes::RecordingRequest& request,
                                     const std::stop_token& stop, ProgressDisplay& progress) {
  progress.Begin("reading " + base::Printable(request.name, 60), 0);
  return probes::ReadRecording(request, stop, [&](double done_s, std::int64_t bytes) {
    progress.Note(base::FormatSeconds(std::max(0.0, done_s)) + " read, " +
                  base::FormatBytes(static_cast<double>(bytes)));
  });
}

/// Failed over bad input, missing over unproven.
int Worse(int left, int right) {
  const auto rank = [](int status) {
    return status == kFailed ? 4 : status == kWrongUse ? 3 : status == 4 ? 2 : status == 5 ? 1 : 0;
  };
  return rank(left) >= rank(right) ? left : right;
}

}  // namespace

base::Result<int> RunExamine(const Options& options) {
  const Interrupt interrupt;
  std::vector<report::RecordingDocument> documents;
  std::optional<base::Error> last_error;
  int status = 0;
  {
    ProgressDisplay progress(StyleForStandardError(options.quiet));
    for (const probes::RecordingRequest& request : Requests(options)) {
      if (last_error) {
        std::fprintf(stderr, "rigproof: %s\n", ErrorLine(*last_error).c_str());
        last_error.reset();
      }
      auto read = Read(request, interrupt.Token(), progress);
      progress.End();
      if (read) {
        documents.push_back(report::JudgeRecording(*std::move(read)));
        status = Worse(status, report::ExitStatus(documents.back().verdict));
      } else {
        last_error = read.error();
        status = Worse(status, ExitStatusOf(*last_error));
      }
      if (interrupt.Requested()) {
        break;
      }
    }
  }
  if (documents.empty() && last_error) {
    return *last_error;
  }
  if (last_error) {
    std::fprintf(stderr, "rigproof: %s\n", ErrorLine(*last_error).c_str());
  }
  const auto printed =
      PrintOut(options.json ? report::RecordingsJson(documents)
                            : report::WriteSheets(report::SheetsOf(documents), OutputStyle()));
  if (!printed) {
    return printed.error();
  }
  return status;
}

}  // namespace cli
