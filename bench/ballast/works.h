// SPDX-License-Identifier: Apache-2.0
//
// What extra load is made of: encodes of small pictures, copies through memory, recorded files.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

#include "bench/ballast/paced_load.h"
#include "bench/data/load_kind.h"
#include "bench/plan/plan.h"

namespace bench {

/// How to make one kind of load, and what it is in words.
struct BallastRecipe {
  LoadKind kind = LoadKind::kCpu;
  std::string method;
  int threads = 1;
  MakeWork make;
};

/// Encodes 640x360 pictures of the first camera's kind, each thread with an encoder
/// of its own on one thread: the encoder and effort of the plan's first software
/// output at as many bits a pixel (libx264 where all outputs are of other kinds).
BallastRecipe CpuBallast(const RehearsalPlan& plan, int threads);

/// Copies 4 MiB at a time through `buffer_bytes` in all; bytes count read and written.
BallastRecipe MemoryBallast(std::int64_t buffer_bytes, int threads);

/// Writes files like recordings: paced, 256 KiB at a time, data that cannot be
/// compressed, never below the disk's guard; files have no name and vanish.
BallastRecipe DiskBallast(const std::filesystem::path& folder);

}  // namespace bench
