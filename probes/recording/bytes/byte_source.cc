// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/bytes/byte_source.h"

#include <algorithm>

namespace probes {

std::size_t MemoryBytes::ReadAt(std::int64_t at, std::span<std::uint8_t> into) {
  if (at < 0 || at >= size()) {
    return 0;
  }
  const auto from = bytes_.subspan(static_cast<std::size_t>(at));
  const std::size_t count = std::min(from.size(), into.size());
  std::copy_n(from.begin(), count, into.begin());
  return count;
}

std::optional<std::uint64_t> ByteWindow::Number(std::int64_t at, std::size_t bytes) {
  const auto length = static_cast<std::int64_t>(bytes);
  if (at < 0 || at > size() - length) {
    return std::nullopt;
  }
  if (at < begin_ || at + length > begin_ + static_cast<std::int64_t>(window_.size())) {
    window_.resize(window_bytes_);
    window_.resize(source_->ReadAt(at, window_));
    begin_ = at;
    if (window_.size() < bytes) {
      return std::nullopt;
    }
  }
  std::uint64_t value = 0;
  const auto offset = static_cast<std::size_t>(at - begin_);
  for (std::size_t i = 0; i < bytes; ++i) {
    value = value << 8 | window_[offset + i];
  }
  return value;
}

}  // namespace probes
