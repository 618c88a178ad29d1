// SPDX-License-Identifier: Apache-2.0
//
// Decodes the first track of pictures of a recording and holds each picture against the one before.

#pragma once

#include <filesystem>
#include <stop_token>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "probes/data/recording.h"
#include "probes/recording/containers/packets.h"
#include "probes/recording/picture_content.h"

namespace probes {

class ContentReader {
 public:
  /// One file, after those before it; `shift_s` is added to its times. Its memory is the
  /// decoder's: some pictures, and libavformat's index of the file.
  base::Status Look(const std::filesystem::path& path, double shift_s, const std::stop_token& stop,
                    const ReadProgress& progress);
  /// Into the first track of pictures.
  void Finish(double zero_s, Recording& recording);

 private:
  base::Status Decode(AVFormatContext& input, AVStream& stream, const std::stop_token& stop,
                      const ReadProgress& progress);
  void TakePictures(AVCodecContext& decoder, const AVStream& stream);
  void Take(const AVFrame& picture, const AVStream& stream);

  double shift_s_ = 0;
  base::FramePtr before_;
  StillWatch watch_;
  bool looked_ = false;
};

}  // namespace probes
