// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/feed_ring.h"

#include <algorithm>
#include <chrono>
#include <cmath>

extern "C" {
#include <libavutil/imgutils.h>
#include <libavutil/opt.h>
#include <libavutil/pixdesc.h>
}

#include "base/media/video_encoder.h"
#include "bench/feeds/clip_reader.h"
#include "bench/feeds/content.h"
#include "bench/feeds/paint_ring.h"
#include "bench/stages/picture_scaler.h"
#include "profiles/demand/capture_demand.h"
#include "profiles/pixel_formats.h"

namespace bench {
namespace {

constexpr int kMostFrames = 48;
constexpr std::int64_t kMostRingBytes = 256LL << 20;

bool FromNetwork(const profiles::Source& source) {
  return source.arrives_by == profiles::ArrivesBy::kNetwork;
}

/// Pictures of the source's raster in the working format, painted or from the clip.
class PictureMaker {
 public:
  static base::Result<PictureMaker> For(const profiles::Source& source,
                                        const std::filesystem::path& clip_folder, int frames,
                                        std::uint32_t seed, const std::stop_token& stop) {
    PictureMaker maker(source, frames, stop);
    if (source.content == profiles::Content::kClip) {
      auto clip = ReadClip(clip_folder / source.clip, frames, stop);
      if (!clip) {
        return clip.error();
      }
      maker.clip_ = std::move(*clip);
      maker.frames_ = static_cast<int>(maker.clip_.size());
    } else {
      maker.painter_ = std::make_unique<Painter>(source.content, source.raster.width,
                                                 source.raster.height, seed);
    }
    return maker;
  }

  int frames() const { return frames_; }

  /// How many are painted at once, and wait in memory to be taken.
  void PaintAtOnce(int workers) { workers_ = workers; }

  /// Called with 0, 1, 2 ...
  base::Result<base::FramePtr> Make(int index) {
    if (stop_.stop_requested()) {
      return base::Error{base::ErrorKind::kIo, "feeds", "stopped on request"};
    }
    if (painter_) {
      return Painted(index);
    }
    auto picture = base::NewPicture(kWorkingFormat, raster_.width, raster_.height);
    if (!picture) {
      return picture;
    }
    const Area whole{0, 0, raster_.width, raster_.height};
    if (auto drawn = scaler_.Draw(*clip_[static_cast<std::size_t>(index)], **picture, whole);
        !drawn) {
      return drawn.error();
    }
    return picture;
  }

 private:
  PictureMaker(const profiles::Source& source, int frames, const std::stop_token& stop)
      : raster_(source.raster), frames_(frames), stop_(stop) {}

  base::Result<base::FramePtr> Painted(int index) {
    const int first = index / workers_ * workers_;
    if (index == first) {
      auto next = PaintRing(*painter_, raster_, first, std::min(workers_, frames_ - first), frames_,
                            workers_);
      if (!next) {
        return next.error();
      }
      painted_ = std::move(*next);
    }
    return std::move(painted_[static_cast<std::size_t>(index - first)]);
  }

  profiles::Raster raster_;
  int frames_;
  std::stop_token stop_;
  int workers_ = 1;
  std::vector<base::FramePtr> painted_;
  std::unique_ptr<Painter> painter_;
  std::vector<base::FramePtr> clip_;
  PictureScaler scaler_;
};

base::Result<base::FramePtr> InFormat(const AVFrame& picture, AVPixelFormat format) {
  auto converted = base::NewPicture(format, picture.width, picture.height);
  if (!converted) {
    return converted;
  }
  const base::ScalerPtr scaler(sws_getContext(picture.width, picture.height, kWorkingFormat,
                                              picture.width, picture.height, format, SWS_BILINEAR,
                                              nullptr, nullptr, nullptr));
  if (!scaler) {
    return base::FromFfmpeg(AVERROR(EINVAL), "picture conversion");
  }
  sws_scale(scaler.get(), picture.data, picture.linesize, 0, picture.height, (*converted)->data,
            (*converted)->linesize);
  return converted;
}

/// The encoder that stands in for the one inside a camera or capture device.
base::Result<base::CodecPtr> OpenCameraEncoder(const profiles::Source& source,
                                               const std::string& codec_name, int frames) {
  const bool picture_codec = codec_name == "mjpeg" || codec_name == "v210";
  const std::string encoder_name = codec_name == "h264"   ? "libx264"
                                   : codec_name == "hevc" ? "libx265"
                                                          : codec_name;
  const AVCodec* encoder = avcodec_find_encoder_by_name(encoder_name.c_str());
  if (encoder == nullptr) {
    return base::Error{base::ErrorKind::kNotPresent, source.name,
                       "this FFmpeg has no encoder " + encoder_name + " to simulate the source"};
  }
  base::CodecPtr codec(avcodec_alloc_context3(encoder));
  codec->width = source.raster.width;
  codec->height = source.raster.height;
  codec->time_base = {static_cast<int>(source.rate.denominator()),
                      static_cast<int>(source.rate.numerator())};
  codec->framerate = av_inv_q(codec->time_base);
  codec->pix_fmt = codec_name == "mjpeg"  ? AV_PIX_FMT_YUVJ422P
                   : codec_name == "v210" ? AV_PIX_FMT_YUV422P10LE
                                          : AV_PIX_FMT_YUV420P;
  codec->thread_count = picture_codec ? 1 : 0;
  if (codec_name == "mjpeg") {
    codec->flags |= AV_CODEC_FLAG_QSCALE;
    codec->global_quality = 3 * FF_QP2LAMBDA;  // a camera's usual quality
  } else if (!picture_codec) {
    // Cameras send closed groups without reordering: the ring is one group.
    codec->bit_rate = source.bitrate_kbps > 0
                          ? source.bitrate_kbps * 1000LL
                          : std::llround(profiles::CapturePayloadOf(source).bytes_per_second * 8);
    codec->gop_size = frames;
    codec->max_b_frames = 0;
    av_opt_set(codec->priv_data, "preset", "ultrafast", 0);
    av_opt_set(codec->priv_data, "x265-params", "log-level=none:repeat-headers=1", 0);
  }
  if (const int code = avcodec_open2(codec.get(), encoder, nullptr); code < 0) {
    return base::FromFfmpeg(code, source.name);
  }
  return codec;
}

base::Status TakePackets(AVCodecContext& codec, FeedRing& ring) {
  for (;;) {
    base::PacketPtr packet = base::NewPacket();
    const int code = avcodec_receive_packet(&codec, packet.get());
    if (code == AVERROR(EAGAIN) || code == AVERROR_EOF) {
      return base::Done{};
    }
    if (code < 0) {
      return base::FromFfmpeg(code, "feed");
    }
    ring.bytes += packet->size;
    ring.packets.push_back(std::move(packet));
  }
}

base::Status FillPackets(const profiles::Source& source, const std::string& codec_name,
                         PictureMaker& maker, FeedRing& ring) {
  auto codec = OpenCameraEncoder(source, codec_name, maker.frames());
  if (!codec) {
    return codec.error();
  }
  ring.packet_codec = (*codec)->codec_id;
  for (int i = 0; i < maker.frames(); ++i) {
    auto picture = maker.Make(i);
    if (!picture) {
      return picture.error();
    }
    auto input = (*codec)->pix_fmt == kWorkingFormat ? std::move(picture)
                                                     : InFormat(**picture, (*codec)->pix_fmt);
    if (!input) {
      return input.error();
    }
    (*input)->pts = i;
    (*input)->quality = (*codec)->global_quality;
    if (const int code = avcodec_send_frame(codec->get(), input->get()); code < 0) {
      return base::FromFfmpeg(code, source.name);
    }
    if (auto taken = TakePackets(**codec, ring); !taken) {
      return taken;
    }
  }
  avcodec_send_frame(codec->get(), nullptr);
  return TakePackets(**codec, ring);
}

base::Status FillPictures(AVPixelFormat format, PictureMaker& maker, FeedRing& ring) {
  for (int i = 0; i < maker.frames(); ++i) {
    auto picture = maker.Make(i);
    if (picture && format != kWorkingFormat) {
      picture = InFormat(**picture, format);
    }
    if (!picture) {
      return picture.error();
    }
    ring.bytes += av_image_get_buffer_size(format, (*picture)->width, (*picture)->height, 32);
    ring.pictures.push_back(std::move(*picture));
  }
  return base::Done{};
}

}  // namespace

int RingFrames(const profiles::Source& source, std::int64_t cache_bytes) {
  const profiles::PixelFormat* format = profiles::FindPixelFormat(source.pixel_format);
  if (FromNetwork(source) || format == nullptr || format->compressed) {
    return kMostFrames;  // packets are small, and a group of pictures is about this long
  }
  const double frame_bytes = static_cast<double>(profiles::FrameBytes(*format, source.raster));
  // Twice the cache, so that no frame is still in it when its turn comes again.
  const double wanted = std::ceil(2.0 * static_cast<double>(cache_bytes) / frame_bytes);
  const double affordable = std::floor(static_cast<double>(kMostRingBytes) / frame_bytes);
  return static_cast<int>(
      std::max<double>(kFewestRingFrames, std::min({wanted, affordable, double{kMostFrames}})));
}

base::Result<FeedRing> MakeFeedRing(const profiles::Source& source,
                                    const std::filesystem::path& clip_folder, int frames,
                                    std::uint32_t seed, const std::stop_token& stop, int painters) {
  const auto begun = std::chrono::steady_clock::now();
  auto maker = PictureMaker::For(source, clip_folder, frames, seed, stop);
  if (!maker) {
    return maker.error();
  }
  maker->PaintAtOnce(std::max(1, painters));
  FeedRing ring;
  const profiles::PixelFormat* format = profiles::FindPixelFormat(source.pixel_format);
  base::Status filled = base::Done{};
  if (FromNetwork(source)) {
    filled = FillPackets(source, source.codec, *maker, ring);
  } else if (format == nullptr) {
    return base::Error{base::ErrorKind::kInvalid, source.name,
                       "unknown pixel format " + source.pixel_format};
  } else if (format->ffmpeg_is_codec) {
    filled = FillPackets(source, std::string(format->ffmpeg_name), *maker, ring);
  } else {
    const AVPixelFormat pixels = av_get_pix_fmt(std::string(format->ffmpeg_name).c_str());
    filled = FillPictures(pixels, *maker, ring);
  }
  if (!filled) {
    return filled.error();
  }
  ring.prepare_seconds =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
  return ring;
}

FeedRing ShareRing(const FeedRing& ring) {
  FeedRing shared;
  for (const base::FramePtr& picture : ring.pictures) {
    shared.pictures.push_back(base::Share(*picture));
  }
  for (const base::PacketPtr& packet : ring.packets) {
    shared.packets.push_back(base::Share(*packet));
  }
  shared.packet_codec = ring.packet_codec;
  return shared;
}

}  // namespace bench
