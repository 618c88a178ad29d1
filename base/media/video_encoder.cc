// SPDX-License-Identifier: Apache-2.0

#include "base/media/video_encoder.h"

#include <algorithm>
#include <cmath>
#include <initializer_list>

extern "C" {
#include <libavutil/hwcontext.h>
#include <libavutil/opt.h>
#include <libavutil/pixdesc.h>
}

namespace base {
namespace {

bool Takes(const AVCodec& codec, AVPixelFormat wanted) {
  for (const AVPixelFormat* format = codec.pix_fmts;
       format != nullptr && *format != AV_PIX_FMT_NONE; ++format) {
    if (*format == wanted) {
      return true;
    }
  }
  return codec.pix_fmts == nullptr;
}

/// How this encoder gets its frames from the graphics device, when it takes no plain memory.
const AVCodecHWConfig* DeviceFrames(const AVCodec& codec) {
  for (int i = 0;; ++i) {
    const AVCodecHWConfig* config = avcodec_get_hw_config(&codec, i);
    if (config == nullptr ||
        (static_cast<unsigned>(config->methods) & AV_CODEC_HW_CONFIG_METHOD_HW_FRAMES_CTX) != 0) {
      return config;
    }
  }
}

Status UseDevice(AVCodecContext& codec, const AVCodecHWConfig& config, const std::string& name) {
  AVBufferRef* device_raw = nullptr;
  if (const int code = av_hwdevice_ctx_create(&device_raw, config.device_type, nullptr, nullptr, 0);
      code < 0) {
    return FromFfmpeg(code, name);
  }
  const BufferPtr device(device_raw);
  BufferPtr frames(av_hwframe_ctx_alloc(device.get()));
  if (!frames) {
    return FromFfmpeg(AVERROR(ENOMEM), name);
  }
  auto* const layout = reinterpret_cast<AVHWFramesContext*>(frames->data);
  layout->format = config.pix_fmt;
  layout->sw_format = AV_PIX_FMT_NV12;
  layout->width = codec.width;
  layout->height = codec.height;
  layout->initial_pool_size = 20;
  if (const int code = av_hwframe_ctx_init(frames.get()); code < 0) {
    return FromFfmpeg(code, name);
  }
  codec.pix_fmt = config.pix_fmt;
  codec.hw_frames_ctx = frames.release();
  return Done{};
}

Status ChooseInput(AVCodecContext& codec, const std::string& name) {
  // JPEG has the full range of values; limited-range pictures are no standard there.
  const bool jpeg = codec.codec_id == AV_CODEC_ID_MJPEG;
  for (const AVPixelFormat format : {AV_PIX_FMT_YUV420P, AV_PIX_FMT_NV12, AV_PIX_FMT_YUVJ420P}) {
    if (Takes(*codec.codec, format) && jpeg == (format == AV_PIX_FMT_YUVJ420P)) {
      codec.pix_fmt = format;
      codec.color_range = format == AV_PIX_FMT_YUVJ420P ? AVCOL_RANGE_JPEG : AVCOL_RANGE_MPEG;
      return Done{};
    }
  }
  const AVCodecHWConfig* config = DeviceFrames(*codec.codec);
  if (config == nullptr) {
    return Error{ErrorKind::kUnsupported, name, "takes no 8-bit 4:2:0 pictures"};
  }
  return UseDevice(codec, *config, name);
}

void Describe(AVCodecContext& codec, const VideoEncoderSettings& settings) {
  codec.width = settings.width;
  codec.height = settings.height;
  codec.framerate = {static_cast<int>(settings.rate.numerator()),
                     static_cast<int>(settings.rate.denominator())};
  codec.time_base = av_inv_q(codec.framerate);
  codec.color_range = AVCOL_RANGE_MPEG;
  codec.bit_rate = settings.bits_per_second;
  // A live encode holds its rate within one second, for players and uplinks alike.
  // (SVT-AV1 takes no such bound.)
  codec.rc_max_rate = settings.encoder == "libsvtav1" ? 0 : settings.bits_per_second;
  codec.rc_buffer_size =
      static_cast<int>(std::min<std::int64_t>(settings.bits_per_second, INT_MAX));
  codec.gop_size = std::max(1, static_cast<int>(std::lround(ToDouble(settings.rate) * 2)));
  codec.thread_count = settings.threads;
  if (settings.global_header) {
    codec.flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
  }
}

}  // namespace

Result<VideoEncoder> VideoEncoder::Open(const VideoEncoderSettings& settings) {
  const AVCodec* found = avcodec_find_encoder_by_name(settings.encoder.c_str());
  if (found == nullptr) {
    return Error{ErrorKind::kNotPresent, settings.encoder, "this FFmpeg has no such encoder"};
  }
  CodecPtr codec(avcodec_alloc_context3(found));
  if (!codec) {
    return FromFfmpeg(AVERROR(ENOMEM), settings.encoder);
  }
  TakeFfmpegComplaint();
  Describe(*codec, settings);
  if (auto input = ChooseInput(*codec, settings.encoder); !input) {
    return input.error();
  }
  AVDictionary* options = nullptr;
  for (const auto& [key, value] : settings.options) {
    av_dict_set(&options, key.c_str(), value.c_str(), 0);
  }
  const int code = avcodec_open2(codec.get(), found, &options);
  av_dict_free(&options);
  if (code < 0) {
    return FromFfmpeg(code, settings.encoder);
  }
  return VideoEncoder(std::move(codec), settings.encoder);
}

Result<FramePtr> VideoEncoder::Prepared(const AVFrame& picture) {
  const bool on_device = codec_->hw_frames_ctx != nullptr;
  const AVPixelFormat memory_format = on_device ? AV_PIX_FMT_NV12 : codec_->pix_fmt;
  FramePtr ready = Share(picture);
  if (memory_format == AV_PIX_FMT_YUVJ420P) {
    ready->format = AV_PIX_FMT_YUVJ420P;
  } else if (memory_format != picture.format) {
    auto interleaved = NewPicture(memory_format, picture.width, picture.height);
    if (!interleaved) {
      return interleaved.error();
    }
    if (!to_input_) {
      to_input_.reset(sws_getContext(
          picture.width, picture.height, static_cast<AVPixelFormat>(picture.format), picture.width,
          picture.height, memory_format, SWS_FAST_BILINEAR, nullptr, nullptr, nullptr));
    }
    sws_scale(to_input_.get(), picture.data, picture.linesize, 0, picture.height,
              (*interleaved)->data, (*interleaved)->linesize);
    ready = std::move(*interleaved);
  }
  if (on_device) {
    FramePtr uploaded = NewFrame();
    int code = av_hwframe_get_buffer(codec_->hw_frames_ctx, uploaded.get(), 0);
    if (code >= 0) {
      code = av_hwframe_transfer_data(uploaded.get(), ready.get(), 0);
    }
    if (code < 0) {
      return FromFfmpeg(code, name_);
    }
    ready = std::move(uploaded);
  }
  return ready;
}

Status VideoEncoder::Send(const AVFrame& picture, std::int64_t pts) {
  auto ready = Prepared(picture);
  if (!ready) {
    return ready.error();
  }
  (*ready)->pts = pts;
  (*ready)->pict_type = AV_PICTURE_TYPE_NONE;
  if (const int code = avcodec_send_frame(codec_.get(), ready->get()); code < 0) {
    return FromFfmpeg(code, name_);
  }
  return Done{};
}

Status VideoEncoder::Drain() {
  const int code = avcodec_send_frame(codec_.get(), nullptr);
  if (code < 0 && code != AVERROR_EOF) {
    return FromFfmpeg(code, name_);
  }
  return Done{};
}

Result<bool> VideoEncoder::Receive(AVPacket& packet) {
  const int code = avcodec_receive_packet(codec_.get(), &packet);
  if (code == AVERROR(EAGAIN) || code == AVERROR_EOF) {
    return false;
  }
  if (code < 0) {
    return FromFfmpeg(code, name_);
  }
  return true;
}

}  // namespace base
