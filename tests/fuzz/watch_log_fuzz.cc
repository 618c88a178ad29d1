// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: the reader of logs. The first byte says whether the rest is a part as it
// stands, or records that are given their marks and checks, so that what is in them is reached.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <string>
#include <string_view>

#include "probes/watch_log/decoder.h"
#include "probes/watch_log/log.h"

namespace {

/// Kind, length (two bytes, the lower first), payload; and again.
std::string Framed(std::string_view data) {
  std::string bytes;
  constexpr std::size_t kFront = 3;
  while (data.size() >= kFront) {
    const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(data[at]); };
    const std::size_t length =
        std::min<std::size_t>(byte(1) + 256U * byte(2), data.size() - kFront);
    PutRecord(bytes, static_cast<probes::WatchRecordKind>(byte(0)), data.substr(kFront, length));
    data.remove_prefix(kFront + length);
  }
  return bytes;
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  const std::string_view rest(reinterpret_cast<const char*>(data) + 1, size - 1);
  const std::string bytes = data[0] == 0 ? std::string(rest) : Framed(rest);
  double last_s = -1e300;
  probes::WatchDecoder decoder({}, [&last_s](const probes::WatchSample& sample) {
    if (!(sample.pc.at_s > last_s) || !std::isfinite(sample.seconds) ||
        sample.pc.core_busy_percent.size() > probes::kMostCores) {
      std::abort();  // in order, and within bounds
    }
    last_s = sample.pc.at_s;
  });
  std::istringstream stream(bytes);
  probes::RecordScanner scanner(stream);
  decoder.BeginPart();
  while (const auto record = scanner.Next()) {
    if (!decoder.Take(*record)) {
      break;
    }
  }
  if (scanner.damaged_bytes() > static_cast<std::int64_t>(bytes.size())) {
    std::abort();
  }
  const probes::WatchLog log = decoder.Finish();
  if (log.disks.size() > probes::kMostDevices || log.links.size() > probes::kMostDevices) {
    std::abort();
  }
  for (const double at_s : {log.begins_s, log.ends_s, -1e18, 1e18}) {
    const std::int64_t wall_ns = probes::WallOfLogTime(log, at_s);
    for (const double again : probes::LogTimesOfWall(log, wall_ns)) {
      if (!std::isfinite(again)) {
        std::abort();
      }
    }
  }
  return 0;
}
