// SPDX-License-Identifier: Apache-2.0
//
// A recording opened by libavformat, with what its beginning tells of its tracks.

#pragma once

#include <filesystem>
#include <stop_token>
#include <string_view>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "probes/recording/times/sums.h"

namespace probes {

/// Opened with AVFMT_FLAG_... `flags`; nothing is known of the streams but what the header tells.
/// It reads no other file, whatever it asks for. kMalformed when this FFmpeg knows no such format.
base::Result<base::InputPtr> OpenContainer(const std::filesystem::path& path,
                                           const std::stop_token& stop, int flags);

/// The same, with what the first packets tell; `stop` must outlive it. kMalformed also for what is
/// no recording.
base::Result<base::InputPtr> OpenRecording(const std::filesystem::path& path,
                                           const std::stop_token& stop);

/// Pictures and sound of the file, in its order; others are of kind kOther.
std::vector<TrackFacts> FactsOf(AVFormatContext& input);

/// Whether its format has this name among libavformat's names for it.
bool IsContainer(const AVFormatContext& input, std::string_view name);

/// Whether a time base or rate is above zero.
bool HasTicks(AVRational tick);

}  // namespace probes
