// SPDX-License-Identifier: Apache-2.0
//
// The folder of profiles and results, and nothing outside it.

#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "base/system/descriptor.h"

namespace cli {

/// Tells whether a file is still the same.
struct FileStamp {
  std::int64_t changed_ns = 0;
  std::int64_t bytes = 0;

  bool operator==(const FileStamp&) const = default;
};

/// Who may read what is written.
enum class Readers { kAsUmaskAllows, kOwnerOnly };

/// Profiles are NAME.json in the folder, results are folders NAME in it that hold a result.json
/// (or kResultHere). Every name is checked, and no symbolic link below the folder is followed.
class Shelf {
 public:
  /// Makes the folder when it is missing; kInvalid when it cannot be written.
  static base::Result<Shelf> Open(const std::filesystem::path& folder);

  const std::filesystem::path& path() const { return path_; }

  /// By name, without ".json".
  std::vector<std::string> Profiles() const;
  std::vector<std::string> Results() const;

  base::Result<std::string> ReadProfile(const std::string& name) const;
  /// Where a program finds it.
  std::filesystem::path ProfilePath(const std::string& name) const;
  /// kInvalid where the name is taken and `replace` is not set. Whole or not at all.
  base::Status WriteProfile(const std::string& name, const std::string& text, bool replace,
                            Readers readers) const;

  /// "result.json" or "report.html" of a result.
  base::Result<std::string> ReadResult(const std::string& name, const std::string& file) const;
  std::optional<FileStamp> ResultStamp(const std::string& name) const;
  /// Where a result of that name goes: a folder that is not there yet, named after it.
  std::string NewResultName(const std::string& wanted) const;
  std::filesystem::path ResultPath(const std::string& name) const;

 private:
  Shelf(std::filesystem::path path, base::Descriptor folder)
      : path_(std::move(path)), folder_(std::move(folder)) {}

  /// The folder of a result; not open where there is none.
  base::Descriptor ResultFolder(const std::string& name) const;

  std::filesystem::path path_;
  base::Descriptor folder_;
};

}  // namespace cli
