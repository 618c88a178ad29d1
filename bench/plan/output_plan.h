// SPDX-License-Identifier: Apache-2.0
//
// What was decided for one output: encoder, threads, where it goes.

#pragma once

#include <string>
#include <utility>
#include <vector>

#include "base/rational.h"
#include "profiles/demand/stream_url.h"
#include "profiles/profile.h"

namespace bench {

struct OutputPlan {
  profiles::Output output;
  int encode_number = 0;          // outputs with the same number share one encode
  std::string encode_name;        // the names of all that share it, "Recording + Stream"
  profiles::Raster taken_raster;  // of what it takes
  base::Rational taken_rate{30};
  std::string encoder;  // FFmpeg's name; "null" encodes nothing
  int threads = 0;
  std::vector<std::pair<std::string, std::string>> encoder_options;
  std::string format;  // FFmpeg's muxer: "matroska", "mp4", "flv", "mpegts", "null"
  std::string target;  // file path, or URL of a stream
  bool keep_file = false;
  bool loopback = false;  // a sink of our own listens at `target`

  /// `target` as it may be shown: a URL by scheme and host.
  std::string ShownTarget() const { return stream() ? profiles::MaskedUrl(target) : target; }
  bool stream() const { return output.kind == profiles::OutputKind::kStream; }
};

}  // namespace bench
