// SPDX-License-Identifier: Apache-2.0
//
// Small productions for tests of the engine: pictures of 64x64 and up.

#pragma once

#include <filesystem>
#include <random>
#include <string>

#include "bench/runs/rehearsal.h"
#include "profiles/profile.h"

namespace tests {

/// A folder of its own below the system's temporary folder; gone at the end.
class TemporaryFolder {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }
  /// Names of what lies in it.
  std::size_t Entries() const;

 private:
  std::filesystem::path path_;
};

/// Two cameras 128x64 at 25, a program, one recording of it and one iso.
profiles::Profile SmallProduction();

/// A camera of 320x192 at 25 that sends `codec`, "h264" or "hevc".
profiles::Source NetworkCamera(const std::string& codec, int bitrate_kbps = 4000);

/// One to four sources and one to five outputs of random rates, kinds and sizes,
/// each written to up to two further places from the same encode.
profiles::Profile RandomProduction(std::mt19937& random);

/// Runs `profile` by `clock`; test failure and an empty result when it cannot start.
bench::Rehearsal Rehearse(const profiles::Profile& profile, bench::PlanOptions options,
                          double seconds, base::Clock& clock, const std::stop_token& stop = {});

/// Expects due == delivered + dropped in total and per second, and runs of
/// drops that add up to the dropped frames.
void ExpectBalanced(const bench::Rehearsal& run);

}  // namespace tests
