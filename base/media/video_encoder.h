// SPDX-License-Identifier: Apache-2.0
//
// One FFmpeg video encoder, software or hardware, fed with 8-bit 4:2:0 pictures. The encoder
// trial and the rehearsal open encoders through this one door, so that one proves the other.

#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/rational.h"
#include "base/result.h"

namespace base {

struct VideoEncoderSettings {
  std::string encoder;  // FFmpeg's name, "libx264"
  int width = 0;
  int height = 0;
  Rational rate{30};
  std::int64_t bits_per_second = 0;
  int threads = 0;             // 0: the encoder's own choice
  bool global_header = false;  // parameter sets beside the stream, as mp4 and mkv want them
  std::vector<std::pair<std::string, std::string>> options;  // the encoder's own
};

class VideoEncoder {
 public:
  /// Opens it for real. The error's detail is FFmpeg's own reason; kNotPresent
  /// when this FFmpeg has no such encoder.
  static Result<VideoEncoder> Open(const VideoEncoderSettings& settings);

  /// Takes a yuv420p picture of the settings' size; `pts` counts in 1/rate.
  Status Send(const AVFrame& picture, std::int64_t pts);
  /// No more pictures will come.
  Status Drain();
  /// True: `packet` holds the next one, timestamps in 1/rate. False: none yet (or no more).
  Result<bool> Receive(AVPacket& packet);

  const AVCodecContext& context() const { return *codec_; }

 private:
  VideoEncoder(CodecPtr codec, std::string name)
      : codec_(std::move(codec)), name_(std::move(name)) {}

  /// The picture in the form that the encoder takes: as it is, interleaved, or uploaded.
  Result<FramePtr> Prepared(const AVFrame& picture);

  CodecPtr codec_;
  std::string name_;
  ScalerPtr to_input_;  // when it does not take yuv420p
};

}  // namespace base
