// SPDX-License-Identifier: Apache-2.0
//
// Bytes at any place of a file, a little window of them in memory at a time.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <vector>

#include "base/result.h"

namespace probes {

class ByteSource {
 public:
  virtual ~ByteSource() = default;
  virtual std::int64_t size() const = 0;
  /// How many bytes from `at` on were read; fewer than asked at the end or where reading fails.
  virtual std::size_t ReadAt(std::int64_t at, std::span<std::uint8_t> into) = 0;
  /// These bytes will be read soon: a disk may begin with them.
  virtual void Expect(std::int64_t /*at*/, std::int64_t /*bytes*/) {}
};

class FileBytes : public ByteSource {
 public:
  static base::Result<FileBytes> Open(const std::filesystem::path& path);
  FileBytes(FileBytes&& other) noexcept;
  FileBytes& operator=(FileBytes&& other) noexcept;
  FileBytes(const FileBytes&) = delete;
  FileBytes& operator=(const FileBytes&) = delete;
  ~FileBytes() override;

  std::int64_t size() const override { return size_; }
  std::size_t ReadAt(std::int64_t at, std::span<std::uint8_t> into) override;
  void Expect(std::int64_t at, std::int64_t bytes) override;

 private:
  FileBytes(int fd, std::int64_t size) : fd_(fd), size_(size) {}

  int fd_ = -1;
  std::int64_t size_ = 0;
};

/// For tests and fuzzing; the bytes must outlive it.
class MemoryBytes : public ByteSource {
 public:
  explicit MemoryBytes(std::span<const std::uint8_t> bytes) : bytes_(bytes) {}

  std::int64_t size() const override { return static_cast<std::int64_t>(bytes_.size()); }
  std::size_t ReadAt(std::int64_t at, std::span<std::uint8_t> into) override;

 private:
  std::span<const std::uint8_t> bytes_;
};

/// Reads forward mostly; every read is checked against the source's end.
class ByteWindow {
 public:
  explicit ByteWindow(ByteSource& source, std::size_t window_bytes = 16 << 10)
      : source_(&source), window_bytes_(window_bytes) {}

  /// Big-endian number of `bytes` (1 to 8) at `at`; nothing past the end.
  std::optional<std::uint64_t> Number(std::int64_t at, std::size_t bytes);
  std::int64_t size() const { return source_->size(); }

 private:
  ByteSource* source_;
  std::size_t window_bytes_;
  std::vector<std::uint8_t> window_;
  std::int64_t begin_ = 0;
};

}  // namespace probes
