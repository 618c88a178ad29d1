// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/guard.h"

#include <algorithm>
#include <limits>
#include <system_error>

#include <fmt/format.h>

#include "base/text.h"
#include "bench/disk/file.h"

namespace bench {
namespace {

constexpr std::int64_t kGuardLeastBytes = std::int64_t{2} << 30;
constexpr std::int64_t kGuardShare = 20;  // one twentieth: 5 %

// An unlimited or unknown size is told as the largest number there is.
std::int64_t Clamped(std::uintmax_t bytes) {
  constexpr auto kLargest = std::numeric_limits<std::int64_t>::max();
  return bytes > static_cast<std::uintmax_t>(kLargest) ? kLargest
                                                       : static_cast<std::int64_t>(bytes);
}

std::string Amount(std::int64_t bytes) {
  return base::FormatBytes(static_cast<double>(bytes));
}

}  // namespace

std::int64_t GuardBytes(std::int64_t total_bytes) {
  return std::max(kGuardLeastBytes, total_bytes / kGuardShare);
}

std::int64_t Room::usable_bytes() const {
  return std::max<std::int64_t>(0, free_bytes - GuardBytes(total_bytes));
}

base::Result<Room> ReadRoom(const std::filesystem::path& folder) {
  using base::Error;
  using base::ErrorKind;
  std::error_code code;
  const auto status = std::filesystem::status(folder, code);
  if (status.type() == std::filesystem::file_type::not_found) {
    return Error{ErrorKind::kNotPresent, folder.string(), "the folder does not exist"};
  }
  if (status.type() == std::filesystem::file_type::none) {
    return Error{ErrorKind::kDenied, folder.string(), code.message()};
  }
  if (status.type() != std::filesystem::file_type::directory) {
    return Error{ErrorKind::kInvalid, folder.string(), "not a folder"};
  }
  const auto space = std::filesystem::space(folder, code);
  if (code) {
    return Error{ErrorKind::kIo, folder.string(), code.message()};
  }
  return Room{Clamped(space.capacity), Clamped(space.available)};
}

base::Status CheckRoom(const std::filesystem::path& folder, std::int64_t bytes) {
  const auto room = ReadRoom(folder);
  if (!room) {
    return room.error();
  }
  auto trial = RecordingFile::Open(folder / ".rigproof-trial", false);
  if (!trial) {
    base::Error error = trial.error();
    error.where = folder.string();
    return error;
  }
  if (bytes > room->usable_bytes()) {
    return base::Error{
        base::ErrorKind::kIo, folder.string(),
        fmt::format("{} are needed, but only {} are free above the {} that must stay free",
                    Amount(bytes), Amount(room->usable_bytes()),
                    Amount(GuardBytes(room->total_bytes)))};
  }
  return base::Done{};
}

}  // namespace bench
