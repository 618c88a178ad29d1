// SPDX-License-Identifier: Apache-2.0
//
// Times of the packets of a recording by libavformat, nothing decoded.

#pragma once

#include <filesystem>
#include <functional>
#include <stop_token>
#include <string>

#include "base/media/ffmpeg.h"
#include "probes/data/recording.h"
#include "probes/recording/times/sums.h"

namespace probes {

/// How far a reading is; called now and then.
using ReadProgress = std::function<void(double done_s, std::int64_t bytes)>;

/// All packets into the sums, after BeginFile. Remarks and state of `recording` tell what was
/// wrong. `input`, opened from `path`, gives them itself where they must be looked into.
void TakePackets(const std::filesystem::path& path, AVFormatContext& input, RecordingSums& sums,
                 const std::stop_token& stop, const ReadProgress& progress, Recording& recording);

/// Whether each packet that lies in the file is one picture, or whole blocks of sound.
bool IsWholeInPackets(const std::filesystem::path& path, AVFormatContext& input,
                      const std::stop_token& stop);

/// What a packet of sound carries, by the samples that its codec has in so many bytes, else by
/// `ticks` that somebody wrote down.
SoundRun SoundOf(const AVStream& stream, const PacketTime& times, std::int64_t ticks);

/// Remarks on what libavformat complained of since it was last asked; whether it did.
bool TellComplaint(Recording& recording);

/// Remarks on the end of what was read against the length that the header gives.
void CheckLength(const AVFormatContext& input, double end_s, Recording& recording);

/// The worst of its ends.
void EndsAs(FileEnd end, Recording& recording);

/// Adds a remark once, at most kMostRemarks, and marks the answer as partial where asked.
void Remark(Recording& recording, const std::string& text, bool partial);

/// Remarks that not all was read, since somebody asked to stop.
void TellStopped(Recording& recording);

}  // namespace probes
