// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/log.h"

#include <algorithm>
#include <cstddef>
#include <fstream>
#include <map>
#include <optional>
#include <system_error>
#include <utility>

#include "probes/watch_log/decoder.h"
#include "probes/watch_log/fields.h"
#include "probes/watch_log/parts.h"

namespace probes {
namespace {

namespace fs = std::filesystem;

/// Samples, put together in groups that double in size whenever they become too many.
class SampleKeeper {
 public:
  explicit SampleKeeper(std::size_t most) : most_(std::max<std::size_t>(most, 2)) {}

  void Add(const WatchSample& sample) {
    if (in_group_ > 0 && in_group_ < group_) {
      MergeWatchSamples(samples_.back(), sample);
      ++in_group_;
      return;
    }
    if (samples_.size() >= most_) {
      Halve();
    }
    samples_.push_back(sample);
    in_group_ = 1;
  }

  std::vector<WatchSample> Give() { return std::move(samples_); }

 private:
  void Halve() {
    std::size_t kept = 0;
    for (std::size_t i = 0; i < samples_.size(); i += 2, ++kept) {
      if (kept != i) {
        samples_[kept] = std::move(samples_[i]);
      }
      if (i + 1 < samples_.size()) {
        MergeWatchSamples(samples_[kept], samples_[i + 1]);
      }
    }
    samples_.resize(kept);
    group_ *= 2;
  }

  std::size_t most_;
  std::size_t group_ = 1;     // samples of the log in one of ours
  std::size_t in_group_ = 0;  // in the last one
  std::vector<WatchSample> samples_;
};

base::Status ReadPart(const fs::path& part, WatchDecoder& decoder) {
  std::ifstream stream(part, std::ios::binary);
  if (!stream && !fs::exists(part)) {
    return base::Done{};  // dropped by a watch that runs
  }
  if (!stream) {
    return base::Error{base::ErrorKind::kIo, part.string(), "cannot be opened"};
  }
  decoder.BeginPart();
  RecordScanner scanner(stream);
  while (const auto record = scanner.Next()) {
    if (auto taken = decoder.Take(*record); !taken) {
      return base::Error{taken.error().kind, part.string(), taken.error().detail};
    }
  }
  decoder.CountDamage(scanner.damaged_bytes());
  return base::Done{};
}

double UsualLength(const std::vector<WatchSample>& samples) {
  std::vector<double> lengths;
  lengths.reserve(samples.size());
  for (const WatchSample& sample : samples) {
    lengths.push_back(sample.seconds);
  }
  if (lengths.empty()) {
    return 0;
  }
  const auto middle = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() / 2);
  std::nth_element(lengths.begin(), middle, lengths.end());
  return *middle;
}

/// A folder's parts, oldest first; or the one file.
base::Result<std::vector<fs::path>> PartsOf(const fs::path& path) {
  std::error_code error;
  const fs::file_status status = fs::status(path, error);
  if (!fs::exists(status)) {
    return base::Error{base::ErrorKind::kNotPresent, path.string(), "there is no such log"};
  }
  std::vector<fs::path> parts;
  if (fs::is_directory(status)) {
    for (const WatchPart& part : ListWatchParts(path)) {
      parts.push_back(part.path);
    }
  } else if (fs::is_regular_file(status)) {
    parts.push_back(path);
  }
  if (parts.empty()) {
    return base::Error{base::ErrorKind::kMalformed, path.string(),
                       "is no log: allowed is a folder that rigproof watch wrote, or one part"};
  }
  return parts;
}

/// CPU time of those that are not ours, over all looks; the busiest eight.
std::vector<ProcessShare> OthersOf(const std::vector<WatchProcesses>& looks) {
  constexpr std::size_t kMost = 8;
  std::map<std::pair<int, std::string>, double> seconds;
  for (const WatchProcesses& look : looks) {
    for (const WatchProcesses::Share& share : look.busiest) {
      if (!share.ours) {
        seconds[{share.pid, share.name}] += share.cpus * (look.to_s - look.from_s);
      }
    }
  }
  std::vector<ProcessShare> others;
  others.reserve(seconds.size());
  for (const auto& [process, used] : seconds) {
    others.push_back({process.second, process.first, used});
  }
  std::sort(others.begin(), others.end(), [](const ProcessShare& a, const ProcessShare& b) {
    return a.cpu_seconds > b.cpu_seconds;
  });
  others.resize(std::min(others.size(), kMost));
  return others;
}

}  // namespace

base::Result<WatchLog> StreamWatchLog(const fs::path& path, const WatchRange& range,
                                      const std::function<void(const WatchSample&)>& seen) {
  const auto parts = PartsOf(path);
  if (!parts) {
    return parts.error();
  }
  WatchDecoder decoder(range, seen);
  for (const fs::path& part : *parts) {
    if (auto read = ReadPart(part, decoder); !read) {
      return read.error();
    }
  }
  if (!decoder.has_head()) {
    return base::Error{base::ErrorKind::kMalformed, path.string(), "is no log of rigproof watch"};
  }
  WatchLog log = decoder.Finish();
  log.sample_seconds = log.head.hz > 0 ? 1 / log.head.hz : 0;
  return log;
}

base::Result<WatchLog> ReadWatchLog(const fs::path& path, const WatchRange& range) {
  SampleKeeper keeper(range.most_samples);
  auto log =
      StreamWatchLog(path, range, [&keeper](const WatchSample& sample) { keeper.Add(sample); });
  if (!log) {
    return log.error();
  }
  log->samples = keeper.Give();
  log->sample_seconds = UsualLength(log->samples);
  return log;
}

TelemetryRecord RecordOfWatch(const WatchLog& log, const std::string& disk) {
  std::optional<std::size_t> wanted;
  for (std::size_t i = 0; i < log.disks.size(); ++i) {
    if (!disk.empty() && log.disks[i].name == disk) {
      wanted = i;
    }
  }
  TelemetryRecord record;
  record.zero_ns = log.head.zero_ns;
  record.period_s = log.sample_seconds;
  record.not_read = log.not_read;
  for (const WatchSample& sample : log.samples) {
    record.samples.push_back(sample.pc);
    if (sample.pc.throttle_events) {
      record.throttle_events = record.throttle_events.value_or(0) + *sample.pc.throttle_events;
    }
    if (sample.pc.quota_held_cpus) {
      record.quota_throttled_seconds =
          record.quota_throttled_seconds.value_or(0) + *sample.pc.quota_held_cpus * sample.seconds;
    }
    if (wanted) {
      PutWatchDisk(sample, *wanted, record.samples.back());
    }
  }
  record.others = OthersOf(log.processes);
  return record;
}

}  // namespace probes
