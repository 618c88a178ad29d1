// SPDX-License-Identifier: Apache-2.0
//
// A file of pictures and sound opened by libavformat: this file, and nothing else that it names.

#pragma once

#include <filesystem>
#include <stop_token>

#include "base/media/ffmpeg.h"
#include "base/result.h"

namespace base {

/// Opened with AVFMT_FLAG_... `flags`; nothing is known of the streams but what the header tells.
/// Only a regular file is opened, and no other file or address whatever it asks for. Once `stop`,
/// which must outlive it, is requested, every read of it fails. kInvalid: no regular file; kDenied:
/// not to be read; kMalformed: FFmpeg knows no such format, with its reason.
Result<InputPtr> OpenMediaFile(const std::filesystem::path& path, const std::stop_token& stop,
                               int flags);

}  // namespace base
