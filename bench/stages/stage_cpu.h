// SPDX-License-Identifier: Apache-2.0
//
// CPU time by stage: threads carry their stage in their name, and encoder libraries' own threads
// inherit it.

#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

namespace bench {

inline constexpr std::string_view kCameraThread = "cam";
inline constexpr std::string_view kSimulateThread = "sim";  // sender of a network source
inline constexpr std::string_view kReceiveThread = "recv";
inline constexpr std::string_view kIngestThread = "in";
inline constexpr std::string_view kProgramThread = "prog";
inline constexpr std::string_view kMultiviewThread = "view";
inline constexpr std::string_view kEncodeThread = "enc";
inline constexpr std::string_view kWriteThread = "wr";
inline constexpr std::string_view kAudioThread = "aud";
inline constexpr std::string_view kSinkThread = "sink";

/// Names the calling thread, and those that it starts later, "STAGE:hash of ITEM".
void NameThread(std::string_view stage, std::string_view item);

/// The name that NameThread gives.
std::string ThreadName(std::string_view stage, std::string_view item);

/// CPU seconds used so far by this process's living threads, summed by name.
std::map<std::string, double> ThreadCpuSeconds();

/// CPU seconds of the calling thread so far.
double OwnThreadCpuSeconds();

/// CPU seconds of the whole process so far.
double ProcessCpuSeconds();

/// Memory of this process that is in RAM now; 0 when it cannot be read.
std::int64_t ResidentBytes();

}  // namespace bench
