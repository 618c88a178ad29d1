#include "bench/ingest.h"

#include <cstring>

namespace bench {

base::Result<Ingest> Ingest::Open(const profiles::Source& source, AVCodecID packet_codec,
                                  int threads) {
  Ingest ingest;
  ingest.working_pool_ =
      std::make_unique<PicturePool>(kWorkingFormat, source.raster.width, source.raster.height);
  if (packet_codec == AV_CODEC_ID_NONE) {
    return ingest;
  }
  const AVCodec* decoder = avcodec_find_decoder(packet_codec);
  if (decoder == nullptr) {
    return base::Error{
        base::ErrorKind::kNotPresent, source.name,
        std::string("this FFmpeg has no decoder for ") + avcodec_get_name(packet_codec)};
  }
  ingest.decoder_.reset(avcodec_alloc_context3(decoder));
  ingest.decoder_->width = source.raster.width;
  ingest.decoder_->height = source.raster.height;
  ingest.decoder_->thread_count = threads;
  ingest.decoder_->time_base = {static_cast<int>(source.rate.denominator()),
                                static_cast<int>(source.rate.numerator())};
  if (const int code = avcodec_open2(ingest.decoder_.get(), decoder, nullptr); code < 0) {
    return base::FromFfmpeg(code, source.name);
  }
  return ingest;
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
  const base::PacketPtr copy = base::NewPacket();
  if (const int code = av_new_packet(copy.get(), item.packet->size); code < 0) {
    return base::FromFfmpeg(code, "capture copy");
  }
  std::memcpy(copy->data, item.packet->data, static_cast<std::size_t>(item.packet->size));
  copy->flags = item.packet->flags;
  copy->pts = item.index;
  copy->dts = item.index;
  if (const int code = avcodec_send_packet(decoder_.get(), copy.get()); code < 0) {
    return base::FromFfmpeg(code, "decode");
  }
  return TakeDecoded(taker);
}

base::Status Ingest::TakeDecoded(const Taker& taker) {
  const base::FramePtr picture = base::NewFrame();
  for (;;) {
    const int code = avcodec_receive_frame(decoder_.get(), picture.get());
    if (code == AVERROR(EAGAIN) || code == AVERROR_EOF) {
      return base::Done{};
    }
    if (code < 0) {
      return base::FromFfmpeg(code, "decode");
    }
    const std::int64_t index = picture->pts;
    const bool full_range = picture->format == AV_PIX_FMT_YUVJ420P;
    if (full_range) {
      picture->format = kWorkingFormat;  // the range is the camera's affair, not a conversion
    }
    base::Status taken = base::Done{};
    if (picture->format == kWorkingFormat) {
      taker(base::Share(*picture), index);
    } else {
      taken = Convert(*picture, index, taker);
    }
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
