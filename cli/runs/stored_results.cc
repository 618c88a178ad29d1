// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/stored_results.h"

#include <algorithm>
#include <system_error>
#include <utility>

#include <fmt/format.h>

#include "cli/system/read_file.h"
#include "report/assess/assess.h"
#include "report/data/writers.h"

namespace cli {
namespace {

namespace fs = std::filesystem;

base::Error Invalid(const fs::path& path, std::string detail) {
  return {base::ErrorKind::kInvalid, path.string(), std::move(detail)};
}

}  // namespace

base::Result<report::Document> ReadStoredResult(const fs::path& named) {
  std::error_code error;
  const fs::path path = fs::is_directory(named, error) ? named / "result.json" : named;
  const auto text =
      ReadRegularFile(path, kMostStoredBytes, "a result.json, or a folder that holds one");
  if (!text) {
    return text.error();
  }
  return AssessStored(*text, path.string());
}

base::Result<report::Document> AssessStored(std::string_view text, const std::string& origin) {
  auto evidence = report::ReadStoredEvidence(text, origin);
  if (!evidence) {
    return base::Error{base::ErrorKind::kInvalid, evidence.error().where, evidence.error().detail};
  }
  return report::Assess(*std::move(evidence));
}

base::Result<std::vector<fs::path>> FilesOfFolder(const fs::path& folder) {
  std::vector<fs::path> files;
  std::error_code error;
  fs::directory_iterator entry(folder, error);
  for (; !error && entry != fs::directory_iterator(); entry.increment(error)) {
    std::error_code none;
    const fs::path below = entry->path() / "result.json";
    if (entry->is_directory(none)) {
      if (fs::exists(below, none)) {
        files.push_back(below);
      }
    } else if (entry->path().extension() == ".json") {
      files.push_back(entry->path());
    }
    if (files.size() > kMostStoredResults) {
      return Invalid(folder, fmt::format("holds more than {} results; allowed: up to {}",
                                         kMostStoredResults, kMostStoredResults));
    }
  }
  if (error) {
    return Invalid(folder, "cannot be read: " + error.message());
  }
  if (files.empty()) {
    return Invalid(folder,
                   "holds no result: looked for *.json in it and result.json in its folders");
  }
  std::sort(files.begin(), files.end());
  return files;
}

}  // namespace cli
