// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/containers/container.h"

#include <algorithm>
#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "base/media/media_file.h"
#include "base/text.h"
#include "probes/recording/codecs/h264_timing.h"

namespace probes {
namespace {

constexpr double kSnapStatedPpm = 100;

std::optional<base::Rational> StatedRate(AVFormatContext& input, AVStream& stream) {
  const AVRational rate = av_guess_frame_rate(&input, &stream, nullptr);
  if (!HasTicks(rate) || av_q2d(rate) > 10'000) {
    return std::nullopt;
  }
  if (const auto standard = StandardRateNear(av_q2d(rate), kSnapStatedPpm)) {
    return standard;
  }
  return base::Rational(rate.num, rate.den);
}

TrackFacts FactsOf(AVFormatContext& input, AVStream& stream) {
  const AVCodecParameters& codec = *stream.codecpar;
  TrackFacts facts;
  facts.codec = avcodec_get_name(codec.codec_id);
  const AVProgram* const programme = av_find_program_from_stream(&input, nullptr, stream.index);
  facts.programme = programme != nullptr ? programme->id : 0;
  if (!HasTicks(stream.time_base)) {
    return facts;
  }
  facts.tick_s = base::Rational(stream.time_base.num, stream.time_base.den);
  facts.times_from = IsContainer(input, "avi")   ? TimesFrom::kNumbers
                     : IsContainer(input, "ogg") ? TimesFrom::kPages
                                                 : TimesFrom::kStamps;
  const bool cover = (stream.disposition & AV_DISPOSITION_ATTACHED_PIC) != 0;
  if (codec.codec_type == AVMEDIA_TYPE_VIDEO && !cover) {
    facts.kind = TrackKind::kVideo;
    facts.what = fmt::format("{}x{}", codec.width, codec.height);
    facts.stated_rate = StatedRate(input, stream);
    if (codec.codec_id == AV_CODEC_ID_H264 && codec.extradata != nullptr) {
      facts.codec_rate = H264StatedRate(
          std::span(codec.extradata, static_cast<std::size_t>(std::max(codec.extradata_size, 0))));
    }
    const AVCodecDescriptor* const codec_facts = avcodec_descriptor_get(codec.codec_id);
    facts.reorders = codec_facts == nullptr || (codec_facts->props & AV_CODEC_PROP_REORDER) != 0;
  } else if (codec.codec_type == AVMEDIA_TYPE_AUDIO) {
    facts.kind = TrackKind::kAudio;
    facts.samples_per_second = std::max(codec.sample_rate, 0);
    facts.what = fmt::format("{} Hz, {}", codec.sample_rate,
                             codec.ch_layout.nb_channels == 1
                                 ? "1 channel"
                                 : fmt::format("{} channels", codec.ch_layout.nb_channels));
    if (codec.initial_padding > 0 && codec.sample_rate > 0) {
      facts.lead_in_s = static_cast<double>(codec.initial_padding) / codec.sample_rate;
    }
  }
  return facts;
}

}  // namespace

bool IsContainer(const AVFormatContext& input, std::string_view name) {
  const std::string all = input.iformat->name;
  const auto names = base::Split(all, ',');
  return std::find(names.begin(), names.end(), name) != names.end();
}

bool HasTicks(AVRational tick) {
  return tick.num > 0 && tick.den > 0;
}

base::Result<base::InputPtr> OpenContainer(const std::filesystem::path& path,
                                           const std::stop_token& stop, int flags) {
  auto input = base::OpenMediaFile(path, stop, flags);
  if (!input) {
    base::Error error = input.error();
    error.where = path.string();
    error.detail = "is no recording that can be read: " + error.detail;
    return error;
  }
  return input;
}

base::Result<base::InputPtr> OpenRecording(const std::filesystem::path& path,
                                           const std::stop_token& stop) {
  auto input = OpenContainer(path, stop, 0);
  if (!input) {
    return input;
  }
  static constexpr std::array<std::string_view, 6> kNoRecordings = {"tty", "bin", "xbin",
                                                                    "adf", "idf", "sdp"};
  const bool none = std::find(kNoRecordings.begin(), kNoRecordings.end(),
                              std::string_view((*input)->iformat->name)) != kNoRecordings.end();
  if (none || (*input)->probe_score <= AVPROBE_SCORE_RETRY) {
    return base::Error{base::ErrorKind::kMalformed, path.string(),
                       "is no recording: no container that is known begins like this"};
  }
  if (const int found = avformat_find_stream_info(input->get(), nullptr); found < 0) {
    return base::FromFfmpeg(found, path.string());
  }
  base::TakeFfmpegComplaint();
  return input;
}

std::vector<TrackFacts> FactsOf(AVFormatContext& input) {
  std::vector<TrackFacts> tracks;
  for (unsigned i = 0; i < input.nb_streams && tracks.size() < kMostTracks; ++i) {
    tracks.push_back(FactsOf(input, *input.streams[i]));
  }
  return tracks;
}

}  // namespace probes
