// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/muxer.h"

#include <algorithm>
#include <chrono>
#include <memory>
#include <optional>
#include <thread>
#include <utility>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/disk/file.h"
#include "profiles/demand/stream_url.h"

extern "C" {
#include <libavcodec/bsf.h>
}

namespace bench {
namespace {

using namespace std::chrono_literals;

constexpr int kFileBufferBytes = 1 << 20;
constexpr auto kSinkPatience = 5s;

/// Parameter sets put back into the stream, for a container that has no other place for them.
/// An encoder that serves several containers keeps its parameter sets apart
/// when one of them wants that; transport streams want them before each key frame
/// (ITU-T H.222.0 2.14.1 for H.264, 2.17.1 for HEVC).
class InBandHeaders {
 public:
  static base::Result<InBandHeaders> Open(const AVCodecContext& encoder);

  /// Replaces the packet by one that carries what it needs.
  base::Status Filter(AVPacket& packet);

 private:
  struct Free {
    void operator()(AVBSFContext* filter) const { av_bsf_free(&filter); }
  };
  using FilterPtr = std::unique_ptr<AVBSFContext, Free>;
  explicit InBandHeaders(FilterPtr filter) : filter_(std::move(filter)) {}

  FilterPtr filter_;
};

base::Result<InBandHeaders> InBandHeaders::Open(const AVCodecContext& encoder) {
  constexpr const char* kName = "dump_extra";
  const AVBitStreamFilter* const found = av_bsf_get_by_name(kName);
  if (found == nullptr) {
    return base::Error{base::ErrorKind::kNotPresent, kName, "this FFmpeg lacks the filter"};
  }
  AVBSFContext* raw = nullptr;
  int code = av_bsf_alloc(found, &raw);
  FilterPtr filter(raw);
  if (code >= 0) {
    code = avcodec_parameters_from_context(filter->par_in, &encoder);
  }
  if (code >= 0) {
    filter->time_base_in = encoder.time_base;
    code = av_bsf_init(filter.get());
  }
  if (code < 0) {
    return base::FromFfmpeg(code, kName);
  }
  return InBandHeaders(std::move(filter));
}

base::Status InBandHeaders::Filter(AVPacket& packet) {
  int code = av_bsf_send_packet(filter_.get(), &packet);
  if (code >= 0) {
    code = av_bsf_receive_packet(filter_.get(), &packet);
  }
  if (code < 0) {
    return base::FromFfmpeg(code, "dump_extra");
  }
  return base::Done{};
}

/// Counts and forgets: for measuring the engine by itself.
class NullMuxer : public Muxer {
 public:
  base::Status Write(AVPacket& packet, bool /*audio*/) override {
    bytes_ += packet.size;
    return base::Done{};
  }
  base::Status Finish() override { return base::Done{}; }
  std::int64_t bytes() const override { return bytes_; }

 private:
  std::int64_t bytes_ = 0;
};

int StopWaiting(void* cancel) {
  return static_cast<const std::atomic<bool>*>(cancel)->load() ? 1 : 0;
}

class ContainerMuxer : public Muxer {
 public:
  ContainerMuxer(const OutputPlan& plan, const std::atomic<bool>& cancel)
      : plan_(plan), cancel_(cancel) {}
  ~ContainerMuxer() override { Free(); }
  ContainerMuxer(const ContainerMuxer&) = delete;
  ContainerMuxer& operator=(const ContainerMuxer&) = delete;

  base::Status Start(const AVCodecContext& video, const AVCodecContext* audio);
  base::Status Write(AVPacket& packet, bool audio) override;
  base::Status Finish() override;
  std::int64_t bytes() const override { return bytes_; }

 private:
  struct Track {
    AVStream* stream = nullptr;
    AVRational time_base{};
  };

  base::Status AddTrack(const AVCodecContext& codec, std::optional<Track>& track);
  base::Status OpenFile();
  base::Status OpenUrl();
  void Free();
  base::Error Failed(int code);
  base::Error FromFfmpeg(int code) const;
  static int WriteBytes(void* self, std::uint8_t* data, int size);
  static std::int64_t Seek(void* self, std::int64_t offset, int whence);

  const OutputPlan& plan_;
  const std::atomic<bool>& cancel_;
  AVFormatContext* format_ = nullptr;
  AVIOContext* file_io_ = nullptr;
  std::optional<RecordingFile> file_;
  std::optional<base::Error> file_error_;
  std::int64_t position_ = 0;
  std::int64_t bytes_ = 0;
  std::optional<Track> video_;
  std::optional<Track> audio_;
  std::optional<InBandHeaders> in_band_headers_;
  bool header_written_ = false;
};

base::Error ContainerMuxer::Failed(int code) {
  return file_error_ ? *file_error_ : FromFfmpeg(code);
}

base::Error ContainerMuxer::FromFfmpeg(int code) const {
  const std::string shown = plan_.ShownTarget();
  base::Error error = base::FromFfmpeg(code, shown);
  if (shown != plan_.target) {
    // A library's line may repeat the URL, key and all, in its own spelling.
    error.detail = profiles::WithoutSecretsOf(plan_.target, error.detail);
  }
  return error;
}

base::Status ContainerMuxer::AddTrack(const AVCodecContext& codec, std::optional<Track>& track) {
  AVStream* stream = avformat_new_stream(format_, nullptr);
  if (stream == nullptr) {
    return FromFfmpeg(AVERROR(ENOMEM));
  }
  if (const int code = avcodec_parameters_from_context(stream->codecpar, &codec); code < 0) {
    return FromFfmpeg(code);
  }
  stream->time_base = codec.time_base;
  if (codec.codec_type == AVMEDIA_TYPE_VIDEO) {
    stream->avg_frame_rate = codec.framerate;
  }
  track = Track{stream, codec.time_base};
  return base::Done{};
}

int ContainerMuxer::WriteBytes(void* self, std::uint8_t* data, int size) {
  auto& muxer = *static_cast<ContainerMuxer*>(self);
  auto written = muxer.file_->WriteAt(muxer.position_, {data, static_cast<std::size_t>(size)});
  if (!written) {
    muxer.file_error_ = written.error();
    return AVERROR(EIO);
  }
  muxer.position_ += size;
  muxer.bytes_ = std::max(muxer.bytes_, muxer.position_);
  return size;
}

std::int64_t ContainerMuxer::Seek(void* self, std::int64_t offset, int whence) {
  auto& muxer = *static_cast<ContainerMuxer*>(self);
  if ((whence & AVSEEK_SIZE) != 0) {
    return muxer.file_->size();
  }
  const std::int64_t from = whence == SEEK_CUR   ? muxer.position_
                            : whence == SEEK_END ? muxer.file_->size()
                                                 : 0;
  muxer.position_ = from + offset;
  return muxer.position_;
}

base::Status ContainerMuxer::OpenFile() {
  auto file = RecordingFile::Open(plan_.target, plan_.keep_file);
  if (!file) {
    return file.error();
  }
  file_.emplace(std::move(*file));
  file_->PaceBySecond(std::int64_t{plan_.output.bitrate_kbps} * 125);
  auto* buffer = static_cast<unsigned char*>(av_malloc(kFileBufferBytes));
  if (buffer != nullptr) {
    file_io_ = avio_alloc_context(buffer, kFileBufferBytes, 1, this, nullptr, WriteBytes, Seek);
  }
  if (file_io_ == nullptr) {
    av_free(buffer);
    return FromFfmpeg(AVERROR(ENOMEM));
  }
  format_->pb = file_io_;
  return base::Done{};
}

base::Status ContainerMuxer::OpenUrl() {
  const AVIOInterruptCB interrupt{StopWaiting, const_cast<std::atomic<bool>*>(&cancel_)};
  format_->interrupt_callback = interrupt;
  // Our own sink may need a moment before it listens; another server has no such excuse.
  const auto give_up = std::chrono::steady_clock::now() + (plan_.loopback ? kSinkPatience : 0s);
  for (;;) {
    const int code =
        avio_open2(&format_->pb, plan_.target.c_str(), AVIO_FLAG_WRITE, &interrupt, nullptr);
    if (code >= 0) {
      return base::Done{};
    }
    if (cancel_ || std::chrono::steady_clock::now() >= give_up) {
      return FromFfmpeg(code);
    }
    std::this_thread::sleep_for(10ms);
  }
}

base::Status ContainerMuxer::Start(const AVCodecContext& video, const AVCodecContext* audio) {
  const int code =
      avformat_alloc_output_context2(&format_, nullptr, plan_.format.c_str(), plan_.target.c_str());
  if (code < 0) {
    return FromFfmpeg(code);
  }
  if (auto added = AddTrack(video, video_); !added) {
    return added;
  }
  const bool apart = (static_cast<unsigned>(video.flags) & AV_CODEC_FLAG_GLOBAL_HEADER) != 0;
  if (apart && video.extradata_size > 0 && !WantsGlobalHeader(plan_.format)) {
    auto headers = InBandHeaders::Open(video);
    if (!headers) {
      return headers.error();
    }
    in_band_headers_.emplace(std::move(*headers));
  }
  if (audio != nullptr) {
    if (auto added = AddTrack(*audio, audio_); !added) {
      return added;
    }
  }
  if (auto opened = plan_.stream() ? OpenUrl() : OpenFile(); !opened) {
    return opened;
  }
  AVDictionary* options = nullptr;
  if (plan_.format == "flv") {
    av_dict_set(&options, "flvflags", "no_duration_filesize", 0);  // a live stream has no end yet
  }
  const int written = avformat_write_header(format_, &options);
  av_dict_free(&options);
  if (written < 0) {
    return Failed(written);
  }
  header_written_ = true;
  return base::Done{};
}

base::Status ContainerMuxer::Write(AVPacket& packet, bool audio) {
  const Track& track = audio ? *audio_ : *video_;
  const int size = packet.size;
  if (!audio && in_band_headers_) {
    if (auto filtered = in_band_headers_->Filter(packet); !filtered) {
      return filtered;
    }
  }
  packet.stream_index = track.stream->index;
  if (!audio && packet.duration == 0) {
    packet.duration = 1;
  }
  av_packet_rescale_ts(&packet, track.time_base, track.stream->time_base);
  const int code = av_interleaved_write_frame(format_, &packet);
  // Errors of the file surface in its own buffer, maybe later than the write.
  if (code < 0 || file_error_) {
    return Failed(code);
  }
  if (plan_.stream()) {
    bytes_ += size;
  }
  return base::Done{};
}

base::Status ContainerMuxer::Finish() {
  if (!header_written_) {
    return base::Done{};
  }
  header_written_ = false;
  const int code = av_write_trailer(format_);
  if (file_io_ != nullptr) {
    avio_flush(file_io_);
  }
  if (code < 0 || file_error_) {
    return Failed(code);
  }
  return file_ ? file_->Finish() : base::Done{};
}

void ContainerMuxer::Free() {
  if (format_ != nullptr && file_io_ == nullptr && format_->pb != nullptr) {
    avio_closep(&format_->pb);
  }
  avformat_free_context(format_);
  format_ = nullptr;
  if (file_io_ != nullptr) {
    av_freep(&file_io_->buffer);
    avio_context_free(&file_io_);
  }
}

}  // namespace

bool WantsGlobalHeader(const std::string& format) {
  const AVOutputFormat* found = av_guess_format(format.c_str(), nullptr, nullptr);
  return found != nullptr && (static_cast<unsigned>(found->flags) & AVFMT_GLOBALHEADER) != 0;
}

base::Result<std::unique_ptr<Muxer>> Muxer::Open(const OutputPlan& plan,
                                                 const AVCodecContext* video,
                                                 const AVCodecContext* audio,
                                                 const std::atomic<bool>& cancel) {
  if (plan.format == "null" || video == nullptr) {
    return std::unique_ptr<Muxer>(std::make_unique<NullMuxer>());
  }
  auto muxer = std::make_unique<ContainerMuxer>(plan, cancel);
  if (auto started = muxer->Start(*video, audio); !started) {
    return started.error();
  }
  return std::unique_ptr<Muxer>(std::move(muxer));
}

}  // namespace bench
