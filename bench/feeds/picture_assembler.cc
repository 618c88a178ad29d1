// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/picture_assembler.h"

#include <cstring>
#include <new>

namespace bench {
namespace {

/// Far above any picture at the highest bit rate a profile may ask for; a stream that never
/// ends a picture is cut here.
constexpr std::size_t kMostBytes = 64 << 20;

}  // namespace

std::optional<PictureAssembler::Assembled> PictureAssembler::Add(
    std::int64_t index, std::span<const std::uint8_t> piece) {
  std::optional<Assembled> before;
  if (index != index_ || bytes_.size() + piece.size() > kMostBytes) {
    before = Finish();
  }
  index_ = index;
  bytes_.insert(bytes_.end(), piece.begin(), piece.end());
  return before;
}

std::optional<PictureAssembler::Assembled> PictureAssembler::Finish() {
  if (bytes_.empty()) {
    return std::nullopt;
  }
  Assembled assembled{base::NewPacket(), index_};
  if (av_new_packet(assembled.packet.get(), static_cast<int>(bytes_.size())) < 0) {
    throw std::bad_alloc();
  }
  std::memcpy(assembled.packet->data, bytes_.data(), bytes_.size());
  bytes_.clear();
  return assembled;
}

}  // namespace bench
