// SPDX-License-Identifier: Apache-2.0
//
// rigproof-costs --profile FILE [--budget-seconds N] [the benchmark library's own flags]: the
// cost of each stage for one frame, at every size and form that the profile needs.

#include <cstring>
#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include <benchmark/benchmark.h>

#include "base/media/ffmpeg.h"
#include "base/system/end_with_parent.h"
#include "base/system/standard_streams.h"
#include "base/text.h"
#include "bench/costs/stages.h"
#include "profiles/text/reader.h"

namespace {

constexpr int kWrongUse = 2;

/// Takes "FLAG VALUE" or "FLAG=VALUE" out of `words`; the last one counts.
std::string Take(const char* flag, std::vector<char*>& words) {
  const std::size_t length = std::strlen(flag);
  std::string value;
  for (std::size_t i = 1; i < words.size();) {
    const std::string word = words[i];
    if (word == flag && i + 1 < words.size()) {
      value = words[i + 1];
      words.erase(words.begin() + static_cast<std::ptrdiff_t>(i),
                  words.begin() + static_cast<std::ptrdiff_t>(i) + 2);
    } else if (word.starts_with(std::string(flag) + "=")) {
      value = word.substr(length + 1);
      words.erase(words.begin() + static_cast<std::ptrdiff_t>(i));
    } else {
      ++i;
    }
  }
  return value;
}

int Run(std::vector<char*> words) {
  const std::string file = Take("--profile", words);
  const std::string budget = Take("--budget-seconds", words);
  if (file.empty()) {
    std::cerr << "rigproof-costs: --profile FILE is missing\n";
    return kWrongUse;
  }
  const auto profile = profiles::ReadProfile(file);
  if (!profile) {
    std::cerr << profile.error().where << ": " << profile.error().detail << "\n";
    return kWrongUse;
  }
  if (const auto seconds = base::ParseInt(budget); seconds && *seconds > 0) {
    bench::costs::SetBudget(static_cast<double>(*seconds));
  } else if (!budget.empty()) {
    std::cerr << "rigproof-costs: --budget-seconds: found \"" << base::Printable(budget, 40)
              << "\"; allowed: whole seconds from 1\n";
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
