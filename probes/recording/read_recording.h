// SPDX-License-Identifier: Apache-2.0
//
// One recording from its file, or from files that follow each other.

#pragma once

#include <filesystem>
#include <stop_token>
#include <string>
#include <vector>

#include "base/result.h"
#include "probes/data/recording.h"
#include "probes/recording/containers/packets.h"

namespace probes {

struct RecordingRequest {
  std::string name;  // as it was given, for people
  std::vector<std::filesystem::path>
      files;            // one after another; a single one may be a list of files
  bool decode = false;  // also look at what the pictures show
};

/// kNotPresent, kDenied, kMalformed, kUnsupported: nothing can be told, and why. Else what could be
/// read, with remarks on what could not.
base::Result<Recording> ReadRecording(const RecordingRequest& request, const std::stop_token& stop,
                                      const ReadProgress& progress);

}  // namespace probes
