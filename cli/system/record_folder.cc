// SPDX-License-Identifier: Apache-2.0

#include "cli/system/record_folder.h"

#include <string>
#include <system_error>

namespace cli {

std::filesystem::path ChosenRecordFolder(const Options& options) {
  if (!options.machine.empty()) {
    return options.record_folder.empty() ? "/" : options.record_folder;
  }
  const std::filesystem::path named = options.record_folder.empty() ? "." : options.record_folder;
  std::error_code error;
  const std::filesystem::path whole = std::filesystem::weakly_canonical(named, error);
  return error ? named : whole;
}

base::Status CheckFoldersExist(const std::vector<std::filesystem::path>& folders) {
  for (const std::filesystem::path& folder : folders) {
    std::error_code error;
    const auto kind = std::filesystem::status(folder, error).type();
    if (kind != std::filesystem::file_type::directory) {
      const bool missing = kind == std::filesystem::file_type::not_found;
      return base::Error{base::ErrorKind::kInvalid, folder.string(),
                         std::string(missing ? "the folder does not exist" : "not a folder") +
                             "; allowed for recordings: a folder that exists"};
    }
  }
  return base::Done{};
}

}  // namespace cli
