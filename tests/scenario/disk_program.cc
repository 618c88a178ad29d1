// SPDX-License-Identifier: Apache-2.0
//
// bench_disk FOLDER SECONDS MIB: one disk run on its own, its figures as JSON
// on standard output, for comparing with other programs.

#include <cstdio>
#include <exception>

#include <nlohmann/json.hpp>

#include "base/text.h"
#include "bench/disk/run.h"

namespace {

int Run(const char* folder, double seconds, std::int64_t mebibytes) {
  bench::DiskRunOptions options;
  options.folder = folder;
  options.seconds = seconds;
  options.largest_bytes = mebibytes << 20;
  const bench::DiskRun run = bench::MeasureDisk(options);
  const nlohmann::json answer = {
      {"bytes", run.bytes},
      {"seconds", run.seconds},
      {"all_bytes_per_second",
       run.seconds > 0 ? static_cast<double>(run.bytes) / run.seconds : 0.0},
      {"sustained_bytes_per_second", run.sustained_bytes_per_second},
      {"steady", run.steady},
      {"excursion_percent", run.excursion_percent},
      {"slope_percent", run.slope_percent},
      {"windows", run.window_bytes_per_second},
      {"step_at_s", run.step_at_s ? nlohmann::json(*run.step_at_s) : nlohmann::json()},
      {"method", run.method},
      {"stopped_because", run.stopped_because},
  };
  std::printf("%s\n", answer.dump().c_str());
  return run.stopped_because.empty() ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  const auto seconds = argc == 4 ? base::ParseDouble(argv[2]) : std::nullopt;
  const auto mebibytes = argc == 4 ? base::ParseInt(argv[3]) : std::nullopt;
  if (!seconds || !mebibytes || *mebibytes <= 0 || *mebibytes > (1 << 24)) {
    std::fputs("usage: bench_disk FOLDER SECONDS MIB\n", stderr);
    return 2;
  }
  try {
    return Run(argv[1], *seconds, *mebibytes);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "bench_disk: %s\n", error.what());
    return 1;
  }
}
