// SPDX-License-Identifier: Apache-2.0
//
// The newest picture of a source, which program and multiview look at whenever they draw.

#pragma once

#include <mutex>
#include <utility>

#include "base/media/ffmpeg.h"

namespace bench {

class LatestPicture {
 public:
  void Set(base::FramePtr picture) {
    const std::scoped_lock lock(mutex_);
    picture_.swap(picture);
  }

  /// Another owner of it; null before the first one.
  base::FramePtr Get() const {
    const std::scoped_lock lock(mutex_);
    return picture_ ? base::Share(*picture_) : nullptr;
  }

 private:
  mutable std::mutex mutex_;
  base::FramePtr picture_;
};

}  // namespace bench
