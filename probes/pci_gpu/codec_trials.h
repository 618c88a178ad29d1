// SPDX-License-Identifier: Apache-2.0
//
// Tries FFmpeg's encoders and decoders for real: one that is listed is believed only once it has
// made a picture.

#pragma once

#include <chrono>
#include <functional>
#include <stop_token>
#include <string>

#include "base/result.h"
#include "probes/data/pci_gpu.h"

namespace probes {

/// Every software encoder that profiles use and every hardware encoder and
/// decoder of H.264, HEVC, AV1 and MJPEG that this FFmpeg lists, each opened
/// at 640x360 and run over a few pictures. A refusal carries FFmpeg's reason.
/// Stopped, also within one of them, it holds those that were tried and says so.
CodecInventory TryCodecs(const std::stop_token& stop = {});

/// One encoder; `works` says whether packets came out.
CodecTrial TryEncoder(const std::string& name);

/// One decoder, over a few pictures of `codec` that a software encoder makes.
CodecTrial TryDecoder(const std::string& name, const std::string& codec);

/// The trial that `attempt` makes, on a thread of its own. One that gives no answer
/// within `longest`, throws, or is still at it at a stop is left behind there: `named`
/// with the reason, and how long it was waited for.
CodecTrial TryWithin(CodecTrial named, const std::function<CodecTrial()>& attempt,
                     std::chrono::seconds longest, const std::stop_token& stop = {});

/// How many encodes of 1280x720 a hardware encoder keeps open at once, at most `most`.
base::Result<int> CountSessions(const std::string& name, int most);

}  // namespace probes
