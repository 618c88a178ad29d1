// SPDX-License-Identifier: Apache-2.0
//
// From a profile and what this PC can do to a plan that can be run.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "base/result.h"
#include "bench/plan/output_plan.h"
#include "bench/plan/source_plan.h"
#include "profiles/profile.h"

namespace bench {

/// A hardware encoder that was opened and made to run on this PC.
struct WorkingEncoder {
  std::string name;
  std::string codec;
};

struct PlanOptions {
  std::vector<WorkingEncoder> hardware_encoders;
  std::vector<WorkingDecoder> hardware_decoders;  // for network sources; none: in software
  double usable_cpus = 1;
  std::int64_t cache_bytes = 32LL << 20;  // last-level cache
  std::filesystem::path record_to;        // for outputs that name no folder
  std::filesystem::path profile_folder;   // clips and folders are relative to it
  bool keep_recordings = false;
  bool use_own_urls = false;   // send to the profile's URLs; else all streams go to a sink
  bool null_encoders = false;  // measure the engine by itself
};

struct RehearsalPlan {
  profiles::Profile profile;
  std::vector<OutputPlan> outputs;
  std::vector<SourcePlan> sources;  // one for each of the profile's
  std::int64_t cache_bytes = 0;
  std::filesystem::path profile_folder;
  std::vector<std::string> notes;  // the choices made, a line each
};

/// kInvalid names the output and what is wrong: no such encoder in this
/// FFmpeg, a folder that is missing.
base::Result<RehearsalPlan> MakePlan(const profiles::Profile& profile, const PlanOptions& options);

/// The folders that a plan records to, each once.
std::vector<std::filesystem::path> RecordingFolders(const profiles::Profile& profile,
                                                    const std::filesystem::path& record_to,
                                                    const std::filesystem::path& profile_folder);

/// For runs that only measure: the same plan with files of its own (`prefix` before their names)
/// that nobody keeps, and every stream to our own sink: no server of others is to get a show at
/// several times its speed, or twice.
RehearsalPlan ThrowawayPlan(RehearsalPlan plan, const std::string& prefix);

}  // namespace bench
