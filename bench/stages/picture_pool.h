// SPDX-License-Identifier: Apache-2.0
//
// Pictures of one shape whose memory is used again: a live pipeline allocates nothing per frame.

#pragma once

#include "base/media/ffmpeg.h"
#include "base/result.h"

namespace bench {

/// Thread-safe for Get(); pictures may outlive the pool.
class PicturePool {
 public:
  PicturePool(AVPixelFormat format, int width, int height);
  ~PicturePool();
  PicturePool(const PicturePool&) = delete;
  PicturePool& operator=(const PicturePool&) = delete;

  /// Contents are undefined; kIo when memory is out.
  base::Result<base::FramePtr> Get();

 private:
  const AVPixelFormat format_;
  const int width_;
  const int height_;
  AVBufferPool* pool_;
};

}  // namespace bench
