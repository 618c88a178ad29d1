// SPDX-License-Identifier: Apache-2.0
//
// What a watch saw, as the records of one part of its log.

#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "probes/data/watch_log.h"
#include "probes/watch_log/bytes.h"
#include "probes/watch_log/fields.h"

namespace probes {

/// Kinds of names; the number stands in the file.
enum class WatchNameKind : std::uint8_t {
  kDisk = 1,
  kLink = 2,
  kEngine = 3,
  kProcess = 4,
  kThread = 5
};

inline constexpr std::size_t kMostSamplesInBlock = 256;
inline constexpr std::size_t kMostNames = 16384;  // of one kind in one part
inline constexpr std::size_t kMostDevices = 256;  // of one kind
inline constexpr std::size_t kMostCores = 4096;

/// Every part can be read alone: it begins with the head, and names are told before they are used.
class WatchEncoder {
 public:
  /// Forgets all names: a new part. Appends its head to `bytes`, as all others do.
  void Begin(const WatchHead& head, int part, std::string& bytes);

  /// At most kMostSamplesInBlock.
  void Samples(std::span<const WatchSample> samples, const WatchDevices& devices,
               std::string& bytes);
  void Processes(const WatchProcesses& processes, std::string& bytes);

  static void Program(const WatchProgram& program, std::string& bytes);
  static void KernelLine(const KernelLogLine& line, std::string& bytes);
  /// How many lines were read up to now, or why none can be.
  static void KernelLines(const base::Reading<std::int64_t>& lines, std::string& bytes);
  static void NotRead(std::string_view text, std::string& bytes);
  static void End(double at_s, std::string_view why, std::string& bytes);

  /// No room for further names: a new part is due.
  bool Full() const { return processes_.size() >= kMostNames || threads_.size() >= kMostNames; }

 private:
  using Column = std::vector<std::optional<std::int64_t>>;

  void DeclareDevices(std::span<const WatchSample> samples, const WatchDevices& devices,
                      std::string& bytes);
  std::int64_t ProcessName(const std::string& name, int pid, std::string& bytes);
  std::int64_t ThreadName(const std::string& name, std::string& bytes);
  void NameColumns(std::span<const WatchSample> samples, std::string& bytes);
  void PutColumn(int field, std::size_t thing);
  template <typename Thing>
  void PutDeviceColumns(std::span<const WatchSample> samples,
                        std::span<const WatchField<Thing>> fields,
                        std::vector<Thing> WatchSample::*things, std::size_t Thing::*number);
  void PutCoreColumns(std::span<const WatchSample> samples);

  std::set<std::pair<int, std::size_t>> declared_;  // kind and number of devices
  std::map<std::pair<int, std::string>, std::int64_t> processes_;
  std::map<std::string, std::int64_t, std::less<>> threads_;
  Column column_;        // kept for its memory
  std::string columns_;  // of the block
};

}  // namespace probes
