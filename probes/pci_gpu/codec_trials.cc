// SPDX-License-Identifier: Apache-2.0

#include "probes/pci_gpu/codec_trials.h"

#include <chrono>
#include <cstddef>
#include <functional>
#include <new>
#include <utility>
#include <vector>

#include "base/media/video_encoder.h"
#include "base/system/answer_within.h"

extern "C" {
#include <libavutil/avutil.h>
}

namespace probes {
namespace {

constexpr int kTrialWidth = 640;
constexpr int kTrialHeight = 360;
constexpr int kTrialPictures = 5;
constexpr int kMostSessions = 16;

/// The codecs that production profiles ask for.
constexpr std::pair<AVCodecID, const char*> kCodecs[] = {
    {AV_CODEC_ID_H264, "h264"},
    {AV_CODEC_ID_HEVC, "hevc"},
    {AV_CODEC_ID_AV1, "av1"},
    {AV_CODEC_ID_MJPEG, "mjpeg"},
};

constexpr const char* kSoftwareEncoders[] = {"libx264", "libx265", "libsvtav1", "mjpeg"};

const char* CodecName(AVCodecID id) {
  for (const auto& [codec, name] : kCodecs) {
    if (codec == id) {
      return name;
    }
  }
  return "";
}

/// SVT-AV1 1.4 takes 2.5 GB of addresses, touched or not, for the smallest picture, and
/// crashes where it does not get them.
constexpr std::size_t kSvtAv1Bytes = std::size_t{3} << 30;

bool CanBeHad(std::size_t bytes) {
  void* room =
      ::operator new(bytes, std::nothrow);  // as a call: compilers leave out the expression
  ::operator delete(room, std::nothrow);
  return room != nullptr;
}

base::VideoEncoderSettings TrialSettings(const std::string& encoder, int width, int height) {
  base::VideoEncoderSettings settings;
  settings.encoder = encoder;
  settings.width = width;
  settings.height = height;
  settings.bits_per_second = 2'000'000;
  settings.threads = 1;
  if (encoder == "libx265") {
    settings.options = {{"preset", "ultrafast"}, {"x265-params", "log-level=none"}};
  } else if (encoder == "libx264") {
    settings.options = {{"preset", "ultrafast"}};
  } else if (encoder == "libsvtav1") {
    settings.options = {{"preset", "12"}};
  }
  return settings;
}

/// A gradient that moves with `index`: something to encode, cheap to make.
base::Result<base::FramePtr> TrialPicture(int width, int height, int index) {
  auto picture = base::NewPicture(AV_PIX_FMT_YUV420P, width, height);
  if (!picture) {
    return picture;
  }
  for (int plane = 0; plane < 3; ++plane) {
    const int shift = plane == 0 ? 0 : 1;
    for (int y = 0; y < height >> shift; ++y) {
      std::uint8_t* line =
          (*picture)->data[plane] + static_cast<std::ptrdiff_t>(y) * (*picture)->linesize[plane];
      for (int x = 0; x < width >> shift; ++x) {
        line[x] = static_cast<std::uint8_t>(16 + (x + y * 2 + index * 5) % 200);
      }
    }
  }
  return picture;
}

/// The packets of a short encode.
base::Result<std::vector<base::PacketPtr>> EncodeSome(const std::string& encoder_name) {
  if (encoder_name == "libsvtav1" && !CanBeHad(kSvtAv1Bytes)) {
    return base::Error{base::ErrorKind::kUnsupported, encoder_name,
                       "not opened: it takes 3 GB of memory's addresses, which cannot be had"};
  }
  auto encoder = base::VideoEncoder::Open(TrialSettings(encoder_name, kTrialWidth, kTrialHeight));
  if (!encoder) {
    return encoder.error();
  }
  std::vector<base::PacketPtr> packets;
  const auto take = [&]() -> base::Status {
    for (;;) {
      base::PacketPtr packet = base::NewPacket();
      const auto got = encoder->Receive(*packet);
      if (!got) {
        return got.error();
      }
      if (!*got) {
        return base::Done{};
      }
      packets.push_back(std::move(packet));
    }
  };
  for (int i = 0; i < kTrialPictures; ++i) {
    auto picture = TrialPicture(kTrialWidth, kTrialHeight, i);
    if (!picture) {
      return picture.error();
    }
    if (auto sent = encoder->Send(**picture, i); !sent) {
      return sent.error();
    }
    if (auto taken = take(); !taken) {
      return taken.error();
    }
  }
  if (auto drained = encoder->Drain(); !drained) {
    return drained.error();
  }
  if (auto taken = take(); !taken) {
    return taken.error();
  }
  if (packets.empty()) {
    return base::Error{base::ErrorKind::kUnsupported, encoder_name,
                       "opened, but made no packet of five pictures"};
  }
  return packets;
}

base::Status DecodeSome(const AVCodec& decoder, const std::vector<base::PacketPtr>& packets) {
  const base::CodecPtr codec(avcodec_alloc_context3(&decoder));
  base::TakeFfmpegComplaint();
  codec->width = kTrialWidth;
  codec->height = kTrialHeight;
  codec->pkt_timebase = {1, 30};
  if (const int code = avcodec_open2(codec.get(), &decoder, nullptr); code < 0) {
    return base::FromFfmpeg(code, decoder.name);
  }
  int pictures = 0;
  const base::FramePtr picture = base::NewFrame();
  const auto take = [&] {
    while (avcodec_receive_frame(codec.get(), picture.get()) >= 0) {
      ++pictures;
    }
  };
  for (const base::PacketPtr& packet : packets) {
    if (const int code = avcodec_send_packet(codec.get(), packet.get()); code < 0) {
      return base::FromFfmpeg(code, decoder.name);
    }
    take();
  }
  avcodec_send_packet(codec.get(), nullptr);
  take();
  if (pictures == 0) {
    const std::string complaint = base::TakeFfmpegComplaint();
    return base::Error{base::ErrorKind::kUnsupported, decoder.name,
                       complaint.empty() ? "opened, but made no picture" : complaint};
  }
  return base::Done{};
}

/// A driver or library that hangs must not hang us.
constexpr std::chrono::seconds kLongestTrial{20};

double SecondsSince(std::chrono::steady_clock::time_point begun) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
}

/// Runs `attempt` and writes its outcome and time down.
CodecTrial Timed(CodecTrial trial, const std::function<base::Status()>& attempt) {
  const auto begun = std::chrono::steady_clock::now();
  const base::Status outcome = attempt();
  trial.works = outcome.has_value();
  trial.refusal = outcome ? "" : outcome.error().detail;
  trial.seconds = SecondsSince(begun);
  return trial;
}

bool IsHardware(const AVCodec& codec) {
  return (static_cast<unsigned>(codec.capabilities) &
          (AV_CODEC_CAP_HARDWARE | AV_CODEC_CAP_HYBRID)) != 0;
}

std::string SoftwareEncoderOf(const std::string& codec) {
  return codec == "h264"   ? "libx264"
         : codec == "hevc" ? "libx265"
         : codec == "av1"  ? "libsvtav1"
                           : codec;
}

}  // namespace

CodecTrial TryEncoder(const std::string& name) {
  CodecTrial trial;
  trial.name = name;
  const AVCodec* encoder = avcodec_find_encoder_by_name(name.c_str());
  if (encoder != nullptr) {
    trial.codec = CodecName(encoder->id);
    trial.hardware = IsHardware(*encoder);
  }
  trial = Timed(std::move(trial), [&]() -> base::Status {
    auto packets = EncodeSome(name);
    return packets ? base::Status(base::Done{}) : packets.error();
  });
  if (trial.hardware && trial.works) {
    trial.sessions = CountSessions(name, kMostSessions);
  } else if (trial.hardware) {
    trial.sessions = base::Reading<int>::Unknown("it does not open");
  } else {
    trial.sessions = base::Reading<int>::Unknown("software: as many as the CPU carries");
  }
  return trial;
}

CodecTrial TryDecoder(const std::string& name, const std::string& codec) {
  CodecTrial trial;
  trial.name = name;
  trial.codec = codec;
  trial.encoder = false;
  trial.sessions = base::Reading<int>::Unknown("not counted for decoders");
  const AVCodec* decoder = avcodec_find_decoder_by_name(name.c_str());
  trial.hardware = decoder != nullptr && IsHardware(*decoder);
  return Timed(std::move(trial), [&]() -> base::Status {
    if (decoder == nullptr) {
      return base::Error{base::ErrorKind::kNotPresent, name, "this FFmpeg has no such decoder"};
    }
    auto packets = EncodeSome(SoftwareEncoderOf(codec));
    if (!packets) {
      return base::Error{base::ErrorKind::kUnsupported, name,
                         "nothing to decode: " + packets.error().detail};
    }
    return DecodeSome(*decoder, *packets);
  });
}

base::Result<int> CountSessions(const std::string& name, int most) {
  constexpr int kWidth = 1280;
  constexpr int kHeight = 720;
  std::vector<base::VideoEncoder> sessions;
  auto picture = TrialPicture(kWidth, kHeight, 0);
  if (!picture) {
    return picture.error();
  }
  while (static_cast<int>(sessions.size()) < most) {
    auto session = base::VideoEncoder::Open(TrialSettings(name, kWidth, kHeight));
    if (!session || !session->Send(**picture, 0)) {
      break;
    }
    sessions.push_back(std::move(*session));
  }
  return static_cast<int>(sessions.size());
}

CodecTrial TryWithin(CodecTrial named, const std::function<CodecTrial()>& attempt,
                     std::chrono::seconds longest, const std::stop_token& stop) {
  const auto begun = std::chrono::steady_clock::now();
  auto trial = base::AnswerWithin<CodecTrial>(longest, attempt, stop);
  if (trial) {
    return *std::move(trial);
  }
  named.works = false;
  named.refusal = trial.error().detail;
  named.seconds = SecondsSince(begun);
  named.sessions = base::Reading<int>::Unknown(named.refusal);
  return named;
}

namespace {

CodecTrial TryListed(const AVCodec& codec, const std::stop_token& stop) {
  CodecTrial named;
  named.name = codec.name;
  named.codec = CodecName(codec.id);
  named.encoder = av_codec_is_encoder(&codec) != 0;
  named.hardware = IsHardware(codec);
  return TryWithin(
      named,
      [named] {
        return named.encoder ? TryEncoder(named.name) : TryDecoder(named.name, named.codec);
      },
      kLongestTrial, stop);
}

}  // namespace

CodecInventory TryCodecs(const std::stop_token& stop) {
  CodecInventory inventory;
  inventory.tried = true;
  inventory.ffmpeg_version = av_version_info();
  for (const char* name : kSoftwareEncoders) {
    const AVCodec* encoder = avcodec_find_encoder_by_name(name);
    if (encoder != nullptr && !stop.stop_requested()) {
      inventory.trials.push_back(TryListed(*encoder, stop));
    }
  }
  void* state = nullptr;
  while (const AVCodec* codec = av_codec_iterate(&state)) {
    const bool wanted = *CodecName(codec->id) != '\0' && IsHardware(*codec);
    if (wanted && !stop.stop_requested()) {
      inventory.trials.push_back(TryListed(*codec, stop));
    }
  }
  if (stop.stop_requested()) {
    inventory.tried = base::Reading<bool>::Unknown("stopped on request before all were opened");
  }
  return inventory;
}

}  // namespace probes
