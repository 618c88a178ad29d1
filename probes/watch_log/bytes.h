// SPDX-License-Identifier: Apache-2.0
//
// Numbers, texts and records as bytes, and records found again in bytes that may be damaged.

#pragma once

#include <cstddef>
#include <cstdint>
#include <istream>
#include <optional>
#include <string>
#include <string_view>

namespace probes {

/// Kinds of records; the number stands in the file.
enum class WatchRecordKind : std::uint8_t {
  kHead = 1,
  kName = 2,
  kSamples = 3,
  kKernelLine = 4,
  kProcesses = 5,
  kProgram = 6,
  kNotRead = 7,
  kKernelLines = 8,
  kEnd = 9,
};

/// Seven bits a byte, lowest first, the eighth bit set where more follow (as LEB128 of DWARF
/// 5, 7.6).
void PutNumber(std::string& bytes, std::uint64_t value);
/// Small negative numbers as small ones: 0, -1, 1, -2 ... become 0, 1, 2, 3 ...
void PutSigned(std::string& bytes, std::int64_t value);
/// Length, then the bytes.
void PutText(std::string& bytes, std::string_view text);

/// Takes values from the front of bytes that may be anything. After the first one that does not
/// fit, all are 0 or empty and `failed()` is true.
class ByteReader {
 public:
  explicit ByteReader(std::string_view bytes) : rest_(bytes) {}

  std::uint64_t Number();
  std::int64_t Signed();
  /// As it stands, at most `most_bytes`.
  std::string_view Text(std::size_t most_bytes = 400);
  std::string_view Bytes(std::size_t count);

  bool failed() const { return failed_; }
  bool AtEnd() const { return failed_ || rest_.empty(); }
  std::size_t left() const { return rest_.size(); }

 private:
  void Fail();

  std::string_view rest_;
  bool failed_ = false;
};

/// Appends a record: "GRPL", length of what follows the check, CRC-32 (ISO/IEC 8802-3, 3.2.9; as
/// zlib's) of length, kind and payload, the kind, the payload. Fixed numbers are of four bytes,
/// lowest first.
void PutRecord(std::string& bytes, WatchRecordKind kind, std::string_view payload);

inline constexpr std::size_t kRecordHeadBytes = 13;
inline constexpr std::size_t kMostPayloadBytes = std::size_t{256} * 1024;

struct WatchRecord {
  int kind = 0;
  std::string_view payload;  // until the next call
};

/// Gives the records of a stream one after another, whatever lies between them.
class RecordScanner {
 public:
  explicit RecordScanner(std::istream& stream) : stream_(stream) {}

  std::optional<WatchRecord> Next();
  /// Bytes that belong to no whole record, up to here.
  std::int64_t damaged_bytes() const { return damaged_; }

 private:
  bool Have(std::size_t bytes);
  void Skip(std::size_t bytes);
  bool FindMarker();

  std::istream& stream_;
  std::string buffer_;
  std::size_t at_ = 0;
  std::int64_t damaged_ = 0;
  std::size_t checked_in_vain_ = 0;
};

}  // namespace probes
