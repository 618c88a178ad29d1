// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/block.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <utility>

#include "probes/watch_log/fields.h"

namespace probes {
namespace {

constexpr double kMicroseconds = 1e6;
constexpr std::int64_t kMostUs = 4'000'000'000'000'000;  // 120 years: sums in ns fit in 64 bits
constexpr std::size_t kMostCells = 1U << 18U;            // of one block
constexpr std::uint64_t kHighestField = 10'000;

/// How the values of a column are written.
constexpr unsigned kEach = 0;
constexpr unsigned kSame = 1;
constexpr unsigned kSome = 2;

using Cells = std::vector<std::optional<std::int64_t>>;

double Seconds(std::int64_t us) {
  return static_cast<double>(us) / kMicroseconds;
}

/// One column of `count` values, null where a sample has none; false when it does not fit.
bool ReadCells(std::string_view data, std::size_t count, Cells& cells) {
  if (data.empty()) {
    return false;
  }
  ByteReader bytes(data.substr(1));
  const unsigned form = static_cast<unsigned char>(data.front());
  if (form > kSome) {
    return false;
  }
  if (form == kSame) {
    cells.assign(count, bytes.Signed());
    return !bytes.failed();
  }
  cells.assign(count, std::nullopt);
  const std::string_view present = form == kSome ? bytes.Bytes((count + 7) / 8) : data;
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < count && !bytes.failed(); ++i) {
    if (form == kEach || (static_cast<unsigned char>(present[i / 8]) >> (i % 8) & 1U) != 0) {
      value += static_cast<std::uint64_t>(bytes.Signed());
      cells[i] = static_cast<std::int64_t>(value);
    }
  }
  return !bytes.failed();
}

/// The field with this number; the tables are short.
template <typename Thing>
const WatchField<Thing>* FindField(std::span<const WatchField<Thing>> fields, int number) {
  const auto found = std::find_if(fields.begin(), fields.end(),
                                  [&](const auto& field) { return field.number == number; });
  return found == fields.end() ? nullptr : &*found;
}

template <typename Thing>
Thing& ThingOf(std::vector<Thing>& things, std::size_t Thing::*number, std::size_t wanted) {
  const auto found = std::find_if(things.begin(), things.end(),
                                  [&](const Thing& thing) { return thing.*number == wanted; });
  if (found != things.end()) {
    return *found;
  }
  things.emplace_back().*number = wanted;
  return things.back();
}

class Block {
 public:
  Block(std::size_t count, const WatchNames& names) : names_(names), samples_(count) {}

  bool TakeColumn(int field, std::size_t thing, std::string_view data);
  bool timed() const { return timed_; }
  double from_s() const { return samples_.front().pc.at_s; }
  double to_s() const { return samples_.back().pc.at_s; }
  std::vector<WatchSample> Give() { return std::move(samples_); }

 private:
  void PutTimes();
  void PutOwn(int field, std::size_t thing, std::size_t at, std::int64_t value);
  void PutFromTables(int field, std::size_t thing);
  template <typename Thing>
  bool PutDevice(std::span<const WatchField<Thing>> fields, int field,
                 std::vector<Thing> WatchSample::*things, std::size_t Thing::*number,
                 std::optional<std::size_t> device);

  const WatchNames& names_;
  std::vector<WatchSample> samples_;
  Cells cells_;
  std::size_t cells_left_ = kMostCells;
  bool timed_ = false;
};

bool Block::TakeColumn(int field, std::size_t thing, std::string_view data) {
  if (cells_left_ < samples_.size() || !ReadCells(data, samples_.size(), cells_)) {
    return false;
  }
  cells_left_ -= samples_.size();
  if (field == kWatchTime) {
    PutTimes();
    return true;
  }
  if (!timed_) {
    return false;  // the time comes first
  }
  if (field > kWatchCovers && field != kWatchCore) {
    PutFromTables(field, thing);
    return true;
  }
  for (std::size_t i = 0; i < samples_.size(); ++i) {
    if (cells_[i]) {
      PutOwn(field, thing, i, *cells_[i]);
    }
  }
  return true;
}

void Block::PutTimes() {
  for (std::size_t i = 0; i < samples_.size(); ++i) {
    samples_[i].pc.at_s = Seconds(std::clamp(cells_[i].value_or(0), -kMostUs, kMostUs));
  }
  timed_ = true;
}

void Block::PutOwn(int field, std::size_t thing, std::size_t at, std::int64_t value) {
  WatchSample& sample = samples_[at];
  const std::int64_t bounded = std::clamp(value, -kMostUs, kMostUs);
  switch (field) {
    case kWatchWallAhead:
      sample.wall_ns = (std::llround(sample.pc.at_s * kMicroseconds) + bounded) * 1000;
      break;
    case kWatchCovers:
      sample.seconds = Seconds(std::max<std::int64_t>(0, bounded));
      break;
    case kWatchHotThread:
      if (const WatchName* name = names_.Find(WatchNameKind::kThread, value)) {
        sample.pc.hot_thread = name->text;
      }
      break;
    case kWatchTopOther:
      if (const WatchName* name = names_.Find(WatchNameKind::kProcess, value)) {
        sample.pc.top_other = name->text;
        sample.pc.top_other_pid = static_cast<int>(name->detail);
      }
      break;
    case kWatchRunning:
      sample.program_runs = value == 1;
      break;
    case kWatchRecordingDisk:
      sample.recording_disk =
          names_.Device(WatchNameKind::kDisk, static_cast<std::uint64_t>(value));
      break;
    case kWatchCore:
      if (thing == sample.pc.core_busy_percent.size()) {
        sample.pc.core_busy_percent.push_back(
            static_cast<int>(std::clamp<std::int64_t>(value, 0, 100)));
      }
      break;
    default:
      break;
  }
}

/// True when the field is one of `fields`.
template <typename Thing>
bool Block::PutDevice(std::span<const WatchField<Thing>> fields, int field,
                      std::vector<Thing> WatchSample::*things, std::size_t Thing::*number,
                      std::optional<std::size_t> device) {
  const WatchField<Thing>* known = FindField(fields, field);
  for (std::size_t i = 0; known != nullptr && device && i < samples_.size(); ++i) {
    if (cells_[i]) {
      known->set(ThingOf(samples_[i].*things, number, *device),
                 static_cast<double>(*cells_[i]) / known->steps);
    }
  }
  return known != nullptr;
}

void Block::PutFromTables(int field, std::size_t thing) {
  if (const auto* own = FindField(WatchSampleFields(), field)) {
    for (std::size_t i = 0; i < samples_.size(); ++i) {
      if (cells_[i]) {
        own->set(samples_[i], static_cast<double>(*cells_[i]) / own->steps);
      }
    }
    return;
  }
  // What is in none of the tables was written by a later version.
  [[maybe_unused]] const bool known =
      PutDevice(WatchDiskFields(), field, &WatchSample::disks, &WatchDiskSample::disk,
                names_.Device(WatchNameKind::kDisk, thing)) ||
      PutDevice(WatchLinkFields(), field, &WatchSample::links, &WatchLinkSample::link,
                names_.Device(WatchNameKind::kLink, thing)) ||
      PutDevice(WatchEngineFields(), field, &WatchSample::engines, &WatchEngineSample::engine,
                names_.Device(WatchNameKind::kEngine, thing));
}

}  // namespace

std::optional<std::vector<WatchSample>> ReadSampleBlock(
    ByteReader& bytes, const WatchNames& names,
    const std::function<bool(double from_s, double to_s)>& wanted) {
  const std::uint64_t count = bytes.Number();
  if (count < 1 || count > kMostSamplesInBlock) {
    return std::nullopt;
  }
  Block block(static_cast<std::size_t>(count), names);
  bool outside = false;
  while (!bytes.AtEnd()) {
    const std::uint64_t field = bytes.Number();
    const std::uint64_t thing = bytes.Number();
    const std::string_view data = bytes.Text(kMostPayloadBytes);
    if (bytes.failed() || field > kHighestField || thing > kMostCores) {
      return std::nullopt;
    }
    const bool clock = field == kWatchWallAhead || field == kWatchCovers || field == kWatchSlept;
    if (outside && !clock) {
      continue;
    }
    if (!block.TakeColumn(static_cast<int>(field), static_cast<std::size_t>(thing), data)) {
      return std::nullopt;
    }
    outside = block.timed() && !wanted(block.from_s(), block.to_s());
  }
  return block.timed() ? std::optional(block.Give()) : std::nullopt;
}

}  // namespace probes
