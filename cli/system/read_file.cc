// SPDX-License-Identifier: Apache-2.0

#include "cli/system/read_file.h"

#include <fstream>
#include <iterator>
#include <system_error>

#include "base/text.h"

namespace cli {

base::Result<std::string> ReadRegularFile(const std::filesystem::path& path,
                                          std::uintmax_t most_bytes, std::string_view allowed) {
  const auto invalid = [&](const std::string& found) {
    return base::Error{base::ErrorKind::kInvalid, path.string(),
                       found + "; allowed: " + std::string(allowed)};
  };
  std::error_code error;
  const std::filesystem::file_type kind = std::filesystem::status(path, error).type();
  if (kind == std::filesystem::file_type::not_found) {
    return invalid("does not exist");
  }
  if (kind != std::filesystem::file_type::regular) {
    return invalid("is not a regular file");
  }
  const std::uintmax_t size = std::filesystem::file_size(path, error);
  if (error || size > most_bytes) {
    return invalid("is larger than " + base::FormatBytes(static_cast<double>(most_bytes)));
  }
  std::ifstream file(path, std::ios::binary);
  if (!file.is_open()) {
    return invalid("cannot be opened");
  }
  std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  if (file.bad()) {
    return invalid("cannot be read");
  }
  return text;
}

}  // namespace cli
