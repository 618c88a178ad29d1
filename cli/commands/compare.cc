// SPDX-License-Identifier: Apache-2.0
//
// rigproof compare: what is different between stored results; nothing is run.

#include "report/compare/compare.h"

#include <filesystem>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "base/text.h"
#include "cli/commands/run.h"
#include "cli/runs/comparing.h"
#include "cli/runs/stored_results.h"
#include "cli/system/write_file.h"

namespace cli {
namespace {

namespace fs = std::filesystem;

base::Status Put(const WrittenComparison& written, const Options& options) {
  if (options.into.empty()) {
    return PrintOut(options.json ? written.json : written.text);
  }
  const fs::path into(options.into);
  const fs::path json = into / "comparison.json";
  const fs::path page = into / "comparison.html";
  auto done = WriteFileWhole(json, written.json);
  if (done) {
    done = WriteFileWhole(page, written.page);
  }
  if (!done) {
    return done;
  }
  return PrintOut(options.json
                      ? written.json
                      : written.text + "\nresult  " + base::Printable(json.string(), 4096) +
                            "\npage    " + base::Printable(page.string(), 4096) + "\n");
}

base::Result<report::NamedDocument> ReadNamed(const std::string& name) {
  auto document = ReadStoredResult(name);
  if (!document) {
    return document.error();
  }
  return report::NamedDocument{name, *std::move(document)};
}

base::Result<WrittenComparison> FirstAndLast(const Options& options) {
  auto before = ReadNamed(options.results.front());
  if (!before) {
    return before.error();
  }
  auto after = ReadNamed(options.results.back());
  if (!after) {
    return after.error();
  }
  return BeforeAndAfter(*before, *after);
}

/// A file that is no result is told in a folder; named by itself, it is an error.
base::Result<WrittenComparison> Many(const std::vector<fs::path>& files, const fs::path& folder) {
  std::vector<report::RankEntry> entries;
  std::vector<report::UnreadResult> not_read;
  for (const fs::path& file : files) {
    auto document = ReadStoredResult(file);
    const std::string name =
        folder.empty() ? file.string() : file.lexically_relative(folder).string();
    if (document) {
      entries.push_back(report::EntryOf({name, *std::move(document)}));
    } else if (folder.empty()) {
      return document.error();
    } else {
      not_read.push_back({name, document.error().detail});
    }
  }
  if (entries.empty()) {
    return base::Error{base::ErrorKind::kInvalid, folder.string(),
                       "none of its " + std::to_string(files.size()) + " files is a result: " +
                           not_read.front().name + ": " + not_read.front().why};
  }
  return Ranked(std::move(entries), std::move(not_read));
}

base::Result<WrittenComparison> Compared(const Options& options) {
  if (options.results.size() == 2) {
    return FirstAndLast(options);
  }
  if (options.results.size() > 2) {
    return Many({options.results.begin(), options.results.end()}, "");
  }
  const fs::path folder(options.results.front());
  std::error_code error;
  if (!fs::is_directory(folder, error)) {
    return base::Error{base::ErrorKind::kInvalid, folder.string(),
                       "found one file to compare; allowed: two results or more, or a folder of "
                       "results"};
  }
  const auto files = FilesOfFolder(folder);
  if (!files) {
    return files.error();
  }
  return Many(*files, folder);
}

}  // namespace

base::Result<int> RunCompare(const Options& options) {
  if (!options.into.empty()) {
    if (auto prepared = PrepareFolder(options.into, "--into"); !prepared) {
      return prepared.error();
    }
  }
  const auto written = Compared(options);
  if (!written) {
    return written.error();
  }
  if (auto put = Put(*written, options); !put) {
    return put.error();
  }
  return 0;
}

}  // namespace cli
