// SPDX-License-Identifier: Apache-2.0
//
// rigproof-costs --profile FILE [the benchmark library's own flags]: the cost
// of each stage for one frame, at every size and form that the profile needs.

#include <cstring>
#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include <benchmark/benchmark.h>

#include "base/end_with_parent.h"
#include "base/ffmpeg.h"
#include "base/standard_streams.h"
#include "bench/costs/stages.h"
#include "profiles/reader.h"

namespace {

constexpr int kWrongUse = 2;

/// Takes "--profile FILE" or "--profile=FILE" out of `words`; the last one counts.
std::string TakeProfile(std::vector<char*>& words) {
  constexpr const char* kFlag = "--profile";
  const std::size_t length = std::strlen(kFlag);
  std::string profile;
  for (std::size_t i = 1; i < words.size();) {
    const std::string word = words[i];
    if (word == kFlag && i + 1 < words.size()) {
      profile = words[i + 1];
      words.erase(words.begin() + static_cast<std::ptrdiff_t>(i),
                  words.begin() + static_cast<std::ptrdiff_t>(i) + 2);
    } else if (word.starts_with(std::string(kFlag) + "=")) {
      profile = word.substr(length + 1);
      words.erase(words.begin() + static_cast<std::ptrdiff_t>(i));
    } else {
      ++i;
    }
  }
  return profile;
}

int Run(std::vector<char*> words) {
  const std::string file = TakeProfile(words);
  if (file.empty()) {
    std::cerr << "rigproof-costs: --profile FILE is missing\n";
    return kWrongUse;
  }
  const auto profile = profiles::ReadProfile(file);
  if (!profile) {
    std::cerr << profile.error().where << ": " << profile.error().detail << "\n";
    return kWrongUse;
  }
  base::KeepFfmpegComplaints();
  bench::costs::RegisterCapture(*profile);
  bench::costs::RegisterCanvases(*profile);
  bench::costs::RegisterEncodes(*profile);
  bench::costs::RegisterAudio(*profile);
  int count = static_cast<int>(words.size());
  benchmark::Initialize(&count, words.data());
  if (benchmark::ReportUnrecognizedArguments(count, words.data())) {
    return kWrongUse;
  }
  benchmark::RunSpecifiedBenchmarks();
  benchmark::Shutdown();
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  base::OpenClosedStandardStreams();
  base::EndWithParent();
  try {
    return Run(std::vector<char*>(argv, argv + argc));
  } catch (const std::exception& error) {
    std::cerr << "rigproof-costs: " << error.what() << "\n";
    return 1;
  }
}
