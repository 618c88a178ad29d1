// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/ingest.h"

#include <cstring>

extern "C" {
#include <libavutil/hwcontext.h>
#include <libavutil/pixdesc.h>
}

#include <fmt/format.h>

namespace bench {

namespace {

/// A picture in system memory where the decoder offers one: hardware decoders then copy it
/// back by themselves.
AVPixelFormat PreferSystemMemory(AVCodecContext* /*codec*/, const AVPixelFormat* offered) {
  for (const AVPixelFormat* format = offered; *format != AV_PIX_FMT_NONE; ++format) {
    const AVPixFmtDescriptor* const about = av_pix_fmt_desc_get(*format);
    if (about != nullptr && (about->flags & AV_PIX_FMT_FLAG_HWACCEL) == 0) {
      return *format;
    }
  }
  return offered[0];
}

const AVCodec* FindDecoder(AVCodecID packet_codec, const SourcePlan& plan) {
  return plan.decoder.empty() ? avcodec_find_decoder(packet_codec)
                              : avcodec_find_decoder_by_name(plan.decoder.c_str());
}

/// What a receiver goes on after: a picture was damaged or missing.
bool OnlyThisPicture(int code) {
  return code == AVERROR_INVALIDDATA;
}

}  // namespace

base::Result<Ingest> Ingest::Open(const profiles::Source& source, AVCodecID packet_codec,
                                  const SourcePlan& plan) {
  Ingest ingest;
  ingest.working_pool_ =
      std::make_unique<PicturePool>(kWorkingFormat, source.raster.width, source.raster.height);
  if (packet_codec == AV_CODEC_ID_NONE) {
    return ingest;
  }
  const AVCodec* decoder = FindDecoder(packet_codec, plan);
  if (decoder == nullptr || decoder->id != packet_codec) {
    return base::Error{base::ErrorKind::kNotPresent, source.name,
                       fmt::format("this FFmpeg has no decoder {} for {}", plan.decoder,
                                   avcodec_get_name(packet_codec))};
  }
  ingest.decoder_.reset(avcodec_alloc_context3(decoder));
  ingest.decoder_->width = source.raster.width;
  ingest.decoder_->height = source.raster.height;
  ingest.decoder_->thread_count = plan.threads;
  ingest.decoder_->time_base = {static_cast<int>(source.rate.denominator()),
                                static_cast<int>(source.rate.numerator())};
  ingest.decoder_->pkt_timebase = ingest.decoder_->time_base;
  if (!plan.decoder.empty()) {
    ingest.decoder_->get_format = PreferSystemMemory;
    ingest.decoder_->flags |= AV_CODEC_FLAG_LOW_DELAY;
  }
  if (const int code = avcodec_open2(ingest.decoder_.get(), decoder, nullptr); code < 0) {
    return base::FromFfmpeg(code, source.name);
  }
  return ingest;
}

std::string Ingest::decoder_name() const {
  return decoder_ ? decoder_->codec->name : "";
}

base::Status Ingest::Convert(const AVFrame& picture, std::int64_t index, const Taker& taker) {
  auto working = working_pool_->Get();
  if (!working) {
    return working.error();
  }
  const Area whole{0, 0, (*working)->width, (*working)->height};
  if (auto drawn = scaler_.Draw(picture, **working, whole); !drawn) {
    return drawn;
  }
  taker(std::move(*working), index);
  return base::Done{};
}

base::Status Ingest::Take(const CaptureItem& item, const Taker& taker) {
  if (item.picture) {
    const AVFrame& captured = *item.picture;
    if (!capture_pool_) {
      capture_pool_ = std::make_unique<PicturePool>(static_cast<AVPixelFormat>(captured.format),
                                                    captured.width, captured.height);
    }
    // The driver wants its buffer back at once: a program copies it out first.
    auto copy = capture_pool_->Get();
    if (!copy) {
      return copy.error();
    }
    if (const int code = av_frame_copy(copy->get(), &captured); code < 0) {
      return base::FromFfmpeg(code, "capture copy");
    }
    if (captured.format == kWorkingFormat) {
      taker(std::move(*copy), item.index);
      return base::Done{};
    }
    return Convert(**copy, item.index, taker);
  }
  const base::PacketPtr packet = base::NewPacket();
  if (item.owned) {
    av_packet_ref(packet.get(), item.packet.get());
  } else if (const int code = av_new_packet(packet.get(), item.packet->size); code < 0) {
    return base::FromFfmpeg(code, "capture copy");
  } else {
    std::memcpy(packet->data, item.packet->data, static_cast<std::size_t>(item.packet->size));
    packet->flags = item.packet->flags;
  }
  packet->pts = item.index;
  packet->dts = item.index;
  const int code = avcodec_send_packet(decoder_.get(), packet.get());
  if (code < 0 && !OnlyThisPicture(code)) {
    return base::FromFfmpeg(code, "decode");
  }
  return TakeDecoded(taker);
}

base::Status Ingest::TakeOne(AVFrame& decoded, const Taker& taker) {
  const std::int64_t index = decoded.pts;
  if (decoded.hw_frames_ctx != nullptr) {
    const base::FramePtr in_memory = base::NewFrame();
    if (const int code = av_hwframe_transfer_data(in_memory.get(), &decoded, 0); code < 0) {
      return base::FromFfmpeg(code, "copy from the decoder");
    }
    return Convert(*in_memory, index, taker);
  }
  if (decoded.format == AV_PIX_FMT_YUVJ420P) {
    decoded.format = kWorkingFormat;  // the range is the camera's affair, not a conversion
  }
  if (decoded.format != kWorkingFormat) {
    return Convert(decoded, index, taker);
  }
  taker(base::Share(decoded), index);
  return base::Done{};
}

base::Status Ingest::TakeDecoded(const Taker& taker) {
  const base::FramePtr picture = base::NewFrame();
  for (;;) {
    const int code = avcodec_receive_frame(decoder_.get(), picture.get());
    if (code == AVERROR(EAGAIN) || code == AVERROR_EOF) {
      return base::Done{};
    }
    if (OnlyThisPicture(code)) {
      continue;
    }
    if (code < 0) {
      return base::FromFfmpeg(code, "decode");
    }
    base::Status taken = TakeOne(*picture, taker);
    av_frame_unref(picture.get());
    if (!taken) {
      return taken;
    }
  }
}

base::Status Ingest::Finish(const Taker& taker) {
  if (!decoder_) {
    return base::Done{};
  }
  avcodec_send_packet(decoder_.get(), nullptr);
  return TakeDecoded(taker);
}

}  // namespace bench
