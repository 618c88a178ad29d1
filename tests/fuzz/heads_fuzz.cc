// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: FLV tags (first byte even) and PES packets (odd) of a recording whose tracks
// libavformat has told of.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <memory>
#include <optional>
#include <span>
#include <stop_token>

#include "base/media/ffmpeg.h"
#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/containers/container.h"
#include "probes/recording/containers/flv_tags.h"
#include "probes/recording/containers/pes_packets.h"

namespace {

constexpr int kPicturesId = 256;
constexpr int kSoundId = 257;
constexpr int kTableId = 4096;

void Require(bool holds) {
  if (!holds) {
    std::abort();
  }
}

struct FreeContext {
  void operator()(AVFormatContext* input) const { avformat_free_context(input); }
};
using ContextPtr = std::unique_ptr<AVFormatContext, FreeContext>;

/// Pictures and sound as a file of this kind has them.
ContextPtr Tracks(bool transport) {
  ContextPtr input(avformat_alloc_context());
  input->iformat = av_find_input_format(transport ? "mpegts" : "flv");
  for (const int id : {kPicturesId, kSoundId}) {
    AVStream* stream = avformat_new_stream(input.get(), nullptr);
    const bool pictures = id == kPicturesId;
    stream->id = id;
    stream->time_base = {1, transport ? 90'000 : 1000};
    stream->codecpar->codec_type = pictures ? AVMEDIA_TYPE_VIDEO : AVMEDIA_TYPE_AUDIO;
    stream->codecpar->codec_id = pictures ? AV_CODEC_ID_H264 : AV_CODEC_ID_AAC;
    stream->codecpar->sample_rate = pictures ? 0 : 48'000;
    stream->codecpar->frame_size = pictures ? 0 : 1024;
  }
  av_new_program(input.get(), 1)->pmt_pid = kTableId;
  return input;
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  const bool transport = (data[0] & 1) != 0;
  const ContextPtr input = Tracks(transport);
  probes::MemoryBytes source(std::span(data + 1, size - 1));
  probes::RecordingSums sums;
  Require(sums.BeginFile(probes::FactsOf(*input), std::nullopt));
  probes::Recording recording;
  const auto take = transport ? probes::TakePesPackets : probes::TakeFlvTags;
  if (!take(
          source, *input, sums, std::stop_token(), [](double, std::int64_t) {}, recording)) {
    return 0;
  }
  sums.Finish(recording);
  std::int64_t bytes = 0;
  for (const probes::TrackTimes& track : recording.tracks) {
    Require(track.present >= 0 && track.bytes >= 0 && track.untimed == 0);
    bytes += track.bytes;
  }
  Require(recording.tracks.size() == 2 && bytes <= source.size());
  return 0;
}
