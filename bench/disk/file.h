// SPDX-License-Identifier: Apache-2.0
//
// A file written as recorders write theirs, with its data kept from piling up in memory.

#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>

#include "base/result.h"

namespace bench {

/// How written bytes reach the disk.
enum class WriteMode {
  kPaced,   // through the page cache, each chunk written back before the next but one
  kDirect,  // past the page cache: offsets, sizes and buffers in multiples of kDirectAlignment
};

/// What every disk and filesystem of today takes for direct writes, in bytes.
inline constexpr std::int64_t kDirectAlignment = 4096;

/// The chunk in which a file of so many bytes per second is paced: what a second
/// brings, in whole pages, 64 KiB to 8 MiB.
std::int64_t ChunkBytes(std::int64_t bytes_per_second);

/// One open file. Movable; one thread at a time. Closing without Finish()
/// leaves data to the kernel; a file that is not kept is gone either way.
class RecordingFile {
 public:
  /// Creates `path`; a file of that name is never overwritten. Unless `keep`,
  /// it has no name after this returns, so it vanishes however the program ends.
  /// kNotPresent: no such folder; kDenied: read-only or no permission;
  /// kUnsupported: the filesystem takes no direct writes; kIo: full, or broken.
  static base::Result<RecordingFile> Open(const std::filesystem::path& path, bool keep,
                                          WriteMode mode = WriteMode::kPaced);

  /// Before the first write: chunks of what a second brings, so that recordings of
  /// few bits do not lie in memory for half a minute before the disk is asked for anything.
  void PaceBySecond(std::int64_t bytes_per_second);

  RecordingFile(RecordingFile&& other) noexcept;
  RecordingFile& operator=(RecordingFile&& other) noexcept;
  ~RecordingFile();

  /// Writes all of `bytes` at `offset`; may wait for the disk. kIo when the
  /// disk is full, the file too large or the disk broken: the detail says which.
  base::Status WriteAt(std::int64_t offset, std::span<const std::uint8_t> bytes);

  /// The highest byte written plus one.
  std::int64_t size() const;

  /// Waits until all data is on the disk.
  base::Status Flush();

  /// Flush, then closes: a file that is not kept gives its space back now, which
  /// may take a while. Later calls do nothing.
  base::Status Finish();

 private:
  struct State;
  explicit RecordingFile(std::unique_ptr<State> state);

  std::unique_ptr<State> state_;
};

/// The policy of WriteMode::kPaced in a sentence, for reports: as it is, and after PaceBySecond().
std::string WritebackPolicyText();
std::string WritebackBySecondText();

}  // namespace bench
