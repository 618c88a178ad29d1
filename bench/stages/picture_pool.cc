// SPDX-License-Identifier: Apache-2.0

#include "bench/stages/picture_pool.h"

extern "C" {
#include <libavutil/imgutils.h>
}

namespace bench {
namespace {

constexpr int kAlign = 64;  // for the widest vector loads in swscale and the encoders
constexpr std::size_t kReadBeyond = 64;

}  // namespace

PicturePool::PicturePool(AVPixelFormat format, int width, int height)
    : format_(format), width_(width), height_(height), pool_(nullptr) {
  const int bytes = av_image_get_buffer_size(format, width, height, kAlign);
  if (bytes > 0) {
    pool_ = av_buffer_pool_init(static_cast<std::size_t>(bytes) + kReadBeyond, nullptr);
  }
}

PicturePool::~PicturePool() {
  av_buffer_pool_uninit(&pool_);
}

base::Result<base::FramePtr> PicturePool::Get() {
  base::FramePtr picture = base::NewFrame();
  picture->format = format_;
  picture->width = width_;
  picture->height = height_;
  picture->buf[0] = pool_ == nullptr ? nullptr : av_buffer_pool_get(pool_);
  if (picture->buf[0] == nullptr) {
    return base::FromFfmpeg(AVERROR(ENOMEM), "picture memory");
  }
  av_image_fill_arrays(picture->data, picture->linesize, picture->buf[0]->data, format_, width_,
                       height_, kAlign);
  return picture;
}

}  // namespace bench
