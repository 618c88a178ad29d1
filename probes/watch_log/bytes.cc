// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/bytes.h"

#include <boost/crc.hpp>

namespace probes {
namespace {

constexpr std::string_view kMarker = "GRPL";
constexpr std::size_t kLengthAt = 4;
constexpr std::size_t kCheckAt = 8;
constexpr std::size_t kKindAt = 12;
constexpr std::size_t kReadAtOnce = std::size_t{128} * 1024;
/// Made-up lengths could make us check the same bytes again and again.
constexpr std::size_t kMostCheckedInVain = 64U << 20U;

void PutFixed(std::string& bytes, std::uint32_t value) {
  for (unsigned shift = 0; shift < 32; shift += 8) {
    bytes.push_back(static_cast<char>(value >> shift & 0xFFU));
  }
}

std::uint32_t Fixed(std::string_view bytes, std::size_t at) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    value |= std::uint32_t{static_cast<unsigned char>(bytes[at + i])} << (8 * i);
  }
  return value;
}

std::uint32_t Check(std::string_view length, std::string_view body) {
  boost::crc_32_type check;
  check.process_bytes(length.data(), length.size());
  check.process_bytes(body.data(), body.size());
  return check.checksum();
}

}  // namespace

void PutNumber(std::string& bytes, std::uint64_t value) {
  while (value >= 0x80U) {
    bytes.push_back(static_cast<char>(value | 0x80U));
    value >>= 7U;
  }
  bytes.push_back(static_cast<char>(value));
}

void PutSigned(std::string& bytes, std::int64_t value) {
  const auto bits = static_cast<std::uint64_t>(value);
  PutNumber(bytes, bits << 1U ^ (value < 0 ? ~std::uint64_t{0} : 0));
}

void PutText(std::string& bytes, std::string_view text) {
  PutNumber(bytes, text.size());
  bytes.append(text);
}

void ByteReader::Fail() {
  failed_ = true;
  rest_ = {};
}

std::uint64_t ByteReader::Number() {
  std::uint64_t value = 0;
  for (unsigned shift = 0; shift < 64 && !rest_.empty(); shift += 7) {
    const auto byte = static_cast<unsigned char>(rest_.front());
    rest_.remove_prefix(1);
    const std::uint64_t part = byte & 0x7FU;
    if (shift == 63 && part > 1) {
      break;
    }
    value |= part << shift;
    if (byte < 0x80U) {
      return value;
    }
  }
  Fail();
  return 0;
}

std::int64_t ByteReader::Signed() {
  const std::uint64_t bits = Number();
  return static_cast<std::int64_t>(bits >> 1U ^ (~(bits & 1U) + 1));
}

std::string_view ByteReader::Text(std::size_t most_bytes) {
  const std::uint64_t size = Number();
  if (size > most_bytes) {
    Fail();
    return {};
  }
  return Bytes(static_cast<std::size_t>(size));
}

std::string_view ByteReader::Bytes(std::size_t count) {
  if (count > rest_.size()) {
    Fail();
    return {};
  }
  const std::string_view taken = rest_.substr(0, count);
  rest_.remove_prefix(count);
  return taken;
}

void PutRecord(std::string& bytes, WatchRecordKind kind, std::string_view payload) {
  std::string body;
  body.reserve(payload.size() + 1);
  body.push_back(static_cast<char>(kind));
  body.append(payload);
  std::string length;
  PutFixed(length, static_cast<std::uint32_t>(body.size()));
  bytes.append(kMarker);
  bytes.append(length);
  PutFixed(bytes, Check(length, body));
  bytes.append(body);
}

bool RecordScanner::Have(std::size_t bytes) {
  while (buffer_.size() - at_ < bytes && stream_.good()) {
    buffer_.erase(0, at_);
    at_ = 0;
    const std::size_t before = buffer_.size();
    buffer_.resize(before + kReadAtOnce);
    stream_.read(buffer_.data() + before, static_cast<std::streamsize>(kReadAtOnce));
    buffer_.resize(before + static_cast<std::size_t>(stream_.gcount()));
  }
  return buffer_.size() - at_ >= bytes;
}

void RecordScanner::Skip(std::size_t bytes) {
  at_ += bytes;
  damaged_ += static_cast<std::int64_t>(bytes);
}

bool RecordScanner::FindMarker() {
  while (Have(kRecordHeadBytes)) {
    const std::size_t found = buffer_.find(kMarker, at_);
    if (found == at_) {
      return true;
    }
    // A marker may begin in the last three bytes.
    Skip((found == std::string::npos ? buffer_.size() - kMarker.size() + 1 : found) - at_);
  }
  Skip(buffer_.size() - at_);
  return false;
}

std::optional<WatchRecord> RecordScanner::Next() {
  while (FindMarker()) {
    const std::string_view head(buffer_.data() + at_, kRecordHeadBytes);
    const std::size_t length = Fixed(head, kLengthAt);
    const std::uint32_t check = Fixed(head, kCheckAt);
    if (length < 1 || length > kMostPayloadBytes + 1 || !Have(kKindAt + length)) {
      Skip(1);
      continue;
    }
    const std::string_view all = std::string_view(buffer_).substr(at_, kKindAt + length);
    if (Check(all.substr(kLengthAt, 4), all.substr(kKindAt)) == check) {
      at_ += all.size();
      return WatchRecord{static_cast<unsigned char>(all[kKindAt]), all.substr(kKindAt + 1)};
    }
    checked_in_vain_ += length;
    if (checked_in_vain_ > kMostCheckedInVain) {
      while (Have(1)) {
        Skip(buffer_.size() - at_);
      }
      return std::nullopt;
    }
    Skip(1);
  }
  return std::nullopt;
}

}  // namespace probes
