// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/run.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <new>
#include <random>
#include <span>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/clock.h"
#include "bench/disk/file.h"
#include "bench/disk/guard.h"
#include "bench/disk/judge.h"
#include "bench/disk/rate_in_time.h"

namespace bench {
namespace {

constexpr double kSecond = 1e9;

/// One block of random bytes, aligned for direct writes. Each page of it is
/// numbered anew for each write, so that no two pages on the disk are alike.
class Block {
 public:
  explicit Block(std::int64_t bytes)
      : bytes_(static_cast<std::size_t>(bytes)),
        data_(static_cast<std::uint8_t*>(::operator new(bytes_, kAlignment))) {
    std::mt19937_64 random(0x9E3779B97F4A7C15);
    for (std::size_t at = 0; at + sizeof(std::uint64_t) <= bytes_; at += sizeof(std::uint64_t)) {
      const std::uint64_t word = random();
      std::memcpy(data_ + at, &word, sizeof(word));
    }
  }
  Block(const Block&) = delete;
  Block& operator=(const Block&) = delete;
  ~Block() { ::operator delete(data_, kAlignment); }

  std::span<const std::uint8_t> Next() {
    for (std::size_t at = 0; at < bytes_; at += kDirectAlignment) {
      ++pages_;
      std::memcpy(data_ + at, &pages_, sizeof(pages_));
    }
    return {data_, bytes_};
  }

 private:
  static constexpr std::align_val_t kAlignment{kDirectAlignment};

  std::size_t bytes_;
  std::uint8_t* data_;
  std::uint64_t pages_ = 0;
};

std::int64_t RoundedUp(std::int64_t bytes) {
  const std::int64_t pages =
      std::max<std::int64_t>(1, (bytes + kDirectAlignment - 1) / kDirectAlignment);
  return pages * kDirectAlignment;
}

/// A run under way.
struct Writing {
  const DiskRunOptions& options;
  const std::stop_token& stop;
  const std::function<void(double)>& progress;
  std::int64_t block_bytes;
  std::int64_t most_bytes;
};

/// Opens the file and writes its first block, which some filesystems refuse
/// only then. kUnsupported when `mode` does not work here.
base::Result<RecordingFile> OpenTried(const Writing& writing, WriteMode mode, Block& block) {
  auto file = RecordingFile::Open(writing.options.folder / ".rigproof-disk", false, mode);
  if (!file) {
    return file;
  }
  const auto first = file->WriteAt(0, block.Next());
  if (!first && first.error().kind == base::ErrorKind::kUnsupported) {
    return first.error();
  }
  return file;  // any other trouble comes back with the next write
}

std::string WriteUntilOver(const Writing& writing, RecordingFile& file, Block& block,
                           DiskWindows& windows, std::int64_t start_ns) {
  const base::SystemClock clock;
  const auto over_ns = start_ns + static_cast<std::int64_t>(writing.options.seconds * kSecond);
  std::int64_t told_ns = start_ns;
  std::int64_t offset = 0;
  std::int64_t begin_ns = start_ns;
  while (begin_ns < over_ns && offset + writing.block_bytes <= writing.most_bytes) {
    if (writing.stop.stop_requested()) {
      return "stopped on request";
    }
    const auto status = file.WriteAt(offset, block.Next());
    const std::int64_t end_ns = clock.NowNs();
    if (!status) {
      return status.error().detail;
    }
    windows.Add(begin_ns, end_ns, writing.block_bytes);
    offset += writing.block_bytes;
    begin_ns = end_ns;
    if (end_ns - told_ns < static_cast<std::int64_t>(kSecond / 5)) {
      continue;
    }
    told_ns = end_ns;
    if (writing.progress) {
      writing.progress(
          std::max(static_cast<double>(end_ns - start_ns) / static_cast<double>(over_ns - start_ns),
                   static_cast<double>(offset) / static_cast<double>(writing.most_bytes)));
    }
    const auto room = ReadRoom(writing.options.folder);
    if (room && room->usable_bytes() == 0) {
      return "the disk has no more room above what must stay free";
    }
  }
  return "";
}

void Summarise(DiskRun& run, double write_seconds, const std::string& mode) {
  const SustainedRate rate = JudgeDiskWindows(run.window_bytes_per_second, run.window_seconds);
  // Bytes that only the last flush brought to the disk were not written at the
  // rate seen: the time it took is charged to all of them alike.
  const double share = run.seconds > 0 ? write_seconds / run.seconds : 0;
  run.sustained_bytes_per_second = rate.bytes_per_second * share;
  if (run.window_bytes_per_second.empty() && run.seconds > 0) {
    run.sustained_bytes_per_second = static_cast<double>(run.bytes) / run.seconds;
  }
  run.steady = rate.steady;
  run.excursion_percent = rate.excursion_percent;
  run.slope_percent = rate.slope_percent;
  run.step_at_s = rate.step_at_s;
  run.step_ratio = rate.step_ratio;
  run.method =
      fmt::format("{}; rate: {}, less the time of the last flush ({:.2f} s)", mode,
                  run.window_bytes_per_second.empty() ? "all bytes over all time" : rate.from,
                  run.seconds - write_seconds);
}

}  // namespace

DiskRun MeasureDisk(const DiskRunOptions& options, const std::stop_token& stop,
                    const std::function<void(double fraction)>& progress) {
  DiskRun run;
  run.folder = options.folder.string();
  run.window_seconds = std::max(options.window_seconds, 0.01);
  const std::int64_t block_bytes = RoundedUp(options.block_bytes);
  const auto fits = CheckRoom(options.folder, block_bytes);
  const auto room = ReadRoom(options.folder);
  if (!fits || !room) {
    run.stopped_because = (fits ? room.error() : fits.error()).detail;
    return run;
  }
  const Writing writing{options, stop, progress, block_bytes,
                        std::min(options.largest_bytes, room->usable_bytes())};
  Block block(block_bytes);
  WriteMode mode = WriteMode::kDirect;
  auto file = OpenTried(writing, mode, block);
  if (!file && file.error().kind == base::ErrorKind::kUnsupported) {
    mode = WriteMode::kPaced;
    file = OpenTried(writing, mode, block);
  }
  if (!file) {
    run.stopped_because = file.error().detail;
    return run;
  }
  const base::SystemClock clock;
  const std::int64_t start_ns = clock.NowNs();
  DiskWindows windows(start_ns, static_cast<std::int64_t>(run.window_seconds * kSecond));
  run.stopped_because = WriteUntilOver(writing, *file, block, windows, start_ns);
  const std::int64_t written_ns = clock.NowNs();
  run.bytes = file->size();
  const auto flushed = file->Flush();
  run.seconds = static_cast<double>(clock.NowNs() - start_ns) / kSecond;
  if (!flushed && run.stopped_because.empty()) {
    run.stopped_because = flushed.error().detail;
  }
  run.window_bytes_per_second = windows.Rates(written_ns);
  const std::string block_text = fmt::format("{} KiB blocks in order", block_bytes >> 10);
  Summarise(run, static_cast<double>(written_ns - start_ns) / kSecond,
            mode == WriteMode::kDirect
                ? "direct, past the page cache, " + block_text
                : block_text + ", " + WritebackPolicyText() + " (direct writes are refused here)");
  return run;
}

}  // namespace bench
