// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/kinds.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "bench/ballast/works.h"

namespace bench {
namespace {

constexpr double kLongestCalibrationSeconds = 0.5;
/// Enough for every picture of the encoder's ring, twice.
constexpr std::int64_t kCalibrationPictures = 48;
constexpr std::int64_t kCalibrationCopies = 32;

BallastKind MakeKind(BallastRecipe recipe, std::string unit) {
  BallastKind kind;
  kind.run.kind = recipe.kind;
  kind.run.unit = std::move(unit);
  kind.run.method = std::move(recipe.method);
  kind.threads = recipe.threads;
  kind.load = std::make_unique<PacedLoad>(recipe.kind, recipe.threads, std::move(recipe.make));
  if (auto ready = kind.load->Ready(); !ready) {
    kind.run.stopped_because = ready.error().detail;
    kind.load.reset();
  }
  return kind;
}

/// Cost of a unit on one thread, as fast as it goes.
void Calibrate(BallastKind& kind, std::int64_t units) {
  if (!kind.load) {
    return;
  }
  const double cpu_before = kind.load->CpuSeconds();
  const PacedLoad::Done before = kind.load->done();
  kind.load->SetPace(1, 1);
  kind.load->WaitForUnits(units, kLongestCalibrationSeconds);
  kind.load->SetPace(0, 0);
  const PacedLoad::Done after = kind.load->done();
  const double cpu = kind.load->CpuSeconds() - cpu_before;
  const auto done = static_cast<double>(after.units - before.units);
  if (done > 0 && cpu > 0) {
    kind.cpu_cost = cpu / done;
    kind.unit_cost =
        kind.by_cpu ? kind.cpu_cost : static_cast<double>(after.bytes - before.bytes) / done;
  }
  if (kind.unit_cost <= 0) {
    kind.run.stopped_because = "its load could not be measured";
    kind.load.reset();
  }
}

std::int64_t MemoryBufferBytes(const BallastOptions& options) {
  constexpr std::int64_t kLeast = 128LL << 20;
  constexpr std::int64_t kMost = 1LL << 30;
  return std::min(std::clamp(4 * options.cache_bytes, kLeast, kMost),
                  std::max<std::int64_t>(options.available_memory_bytes / 4, 16LL << 20));
}

}  // namespace

double SpareCpus(const BallastOptions& options) {
  return std::max(0.0, options.usable_cpus - options.own_cpus - options.others_cpus);
}

std::vector<BallastKind> MakeBallastKinds(const RehearsalPlan& plan,
                                          const BallastOptions& options) {
  const int cpus = std::max(1, static_cast<int>(std::ceil(options.usable_cpus)));
  std::vector<BallastKind> kinds;
  BallastKind cpu = MakeKind(CpuBallast(plan, cpus), "CPUs");
  cpu.by_cpu = true;
  cpu.share = options.disks.empty() ? 0.75 : 0.6;
  cpu.run.own_use = options.own_cpus;
  cpu.run.own_basis = "measured";
  Calibrate(cpu, kCalibrationPictures);
  kinds.push_back(std::move(cpu));
  for (const BallastDisk& place : options.disks) {
    BallastKind disk = MakeKind(DiskBallast(place.folder), "bytes/s");
    disk.run.item = place.folder.string();
    disk.run.own_use = place.own_bytes_per_second;
    disk.run.own_basis = "measured";
    // An even part of what is left for it, the disks after it and memory.
    disk.share = 1.0 / static_cast<double>(options.disks.size() + 2 - kinds.size());
    Calibrate(disk, 1);
    kinds.push_back(std::move(disk));
  }
  BallastKind memory = MakeKind(MemoryBallast(MemoryBufferBytes(options), cpus), "bytes/s");
  memory.run.own_use = options.memory_traffic_bytes_per_second;
  memory.run.own_basis = "computed";
  memory.share = 1;
  Calibrate(memory, kCalibrationCopies);
  kinds.push_back(std::move(memory));
  return kinds;
}

}  // namespace bench
