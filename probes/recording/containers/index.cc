// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/containers/index.h"

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "base/media/ffmpeg.h"
#include "base/text.h"
#include "probes/recording/containers/packets.h"

namespace probes {
namespace {

/// FFmpeg's name for four letters, or for a number in `tag`; else the letters.
std::string NameOf(const AVCodecTag* table, unsigned tag, std::uint32_t letters) {
  const AVCodecTag* const tags[] = {table, nullptr};
  const AVCodecID id = av_codec_get_id(tags, tag);
  if (id != AV_CODEC_ID_NONE) {
    return avcodec_get_name(id);
  }
  std::string text;
  for (int shift = 24; shift >= 0; shift -= 8) {
    text += static_cast<char>(letters >> shift & 255);
  }
  return base::Printable(base::Trim(text), 20);
}

unsigned TagOf(std::uint32_t letters) {
  return MKTAG(letters >> 24, letters >> 16 & 255, letters >> 8 & 255, letters & 255);
}

std::string CodecName(const IsoTrack& track) {
  const AVCodecTag* table = track.kind == TrackKind::kAudio ? avformat_get_mov_audio_tags()
                                                            : avformat_get_mov_video_tags();
  return NameOf(table, TagOf(track.coding), track.coding);
}

std::string SoundText(int samples_per_second, int channels) {
  return fmt::format("{} Hz, {} channel{}", samples_per_second, channels, channels == 1 ? "" : "s");
}

TrackFacts FactsOf(const IsoTrack& track) {
  TrackFacts facts;
  facts.codec = CodecName(track);
  if (track.ticks_per_second == 0) {
    return facts;
  }
  facts.kind = track.kind;
  facts.tick_s = base::Rational(1, track.ticks_per_second);
  if (track.kind == TrackKind::kVideo) {
    facts.what = fmt::format("{}x{}", track.width, track.height);
    facts.codec_rate = track.stated_rate;
  } else if (track.kind == TrackKind::kAudio) {
    facts.samples_per_second = track.samples_per_second;
    facts.what = SoundText(track.samples_per_second, track.channels);
    facts.lead_in_s =
        static_cast<double>(track.lead_in_ticks) / static_cast<double>(track.ticks_per_second);
  }
  return facts;
}

void TakeFragments(ByteSource& source, const IsoMovie& movie, std::vector<IsoTrackPlace>& places,
                   RecordingSums& sums, const std::stop_token& stop, Recording& recording) {
  const auto end =
      WalkFragments(source, movie, places, stop, [&](std::size_t number, const IsoSample& sample) {
        const IsoTrack& track = movie.tracks[number];
        if (PictureTimes* pictures = sums.Pictures(number)) {
          pictures->Add(PictureOf(sample, track));
        } else if (SoundTimes* sound = sums.Sound(number)) {
          sound->Add(SoundOf(sample, track, places[number].usual));
        }
      });
  if (end.stopped) {
    TellStopped(recording);
    return;
  }
  if (end.other_at >= 0) {
    Remark(recording,
           fmt::format("another recording begins at byte {}: that was not read", end.other_at),
           true);
  }
  if (end.damaged_places > 0) {
    Remark(recording,
           fmt::format(
               "damaged from byte {} on{}: it goes on with the next fragment", end.damaged_at,
               end.damaged_places == 1 ? "" : fmt::format(", in {} places", end.damaged_places)),
           true);
  }
  if (end.past_end > 0 || end.cut) {
    EndsAs(FileEnd::kCut, recording);
    Remark(recording,
           fmt::format("the file ends inside a fragment: {} pictures and blocks of sound of it "
                       "are gone",
                       end.past_end),
           true);
  }
}

}  // namespace

std::vector<TrackFacts> FactsOf(const IsoMovie& movie) {
  std::vector<TrackFacts> tracks;
  for (const IsoTrack& track : movie.tracks) {
    tracks.push_back(FactsOf(track));
  }
  return tracks;
}

std::optional<double> StartOf(ByteSource& source, const IsoMovie& movie,
                              const std::stop_token& stop) {
  std::optional<double> start;
  const auto take = [&](const IsoTrack& track, std::int64_t ticks) {
    if (track.kind != TrackKind::kOther && track.ticks_per_second > 0) {
      const double at_s = static_cast<double>(ticks + track.shift_ticks) /
                          static_cast<double>(track.ticks_per_second);
      start = std::min(start.value_or(at_s), at_s);
    }
  };
  if (!movie.fragmented) {
    for (const IsoTrack& track : movie.tracks) {
      take(track, track.lead_in_ticks);
    }
    return start;
  }
  std::vector<IsoTrackPlace> places;
  std::stop_source first_only;
  const std::stop_callback pass_on(stop, [&first_only] { first_only.request_stop(); });
  WalkFragments(source, movie, places, first_only.get_token(),
                [&](std::size_t number, const IsoSample& sample) {
                  take(movie.tracks[number], sample.decoded + sample.offset);
                  first_only.request_stop();
                });
  return start;
}

void TakeIndex(ByteSource& source, const IsoMovie& movie, std::vector<IsoTrackPlace>& places,
               RecordingSums& sums, const std::stop_token& stop, Recording& recording) {
  if (movie.tracks_left_out > 0) {
    Remark(recording, fmt::format("{} more tracks than are looked at", movie.tracks_left_out),
           true);
  }
  if (movie.other_at >= 0) {
    Remark(recording,
           fmt::format("another recording begins at byte {}: that was not read", movie.other_at),
           true);
  }
  std::int64_t past_end = 0;
  for (std::size_t i = 0; i < movie.tracks.size() && !stop.stop_requested(); ++i) {
    const IsoTrack& track = movie.tracks[i];
    if (PictureTimes* pictures = sums.Pictures(i)) {
      past_end += TakePictures(source, track, *pictures, stop);
    } else if (SoundTimes* sound = sums.Sound(i)) {
      past_end += TakeSound(source, track, *sound, stop);
    }
    if (track.edits > 1 && track.kind != TrackKind::kOther) {
      Remark(recording, "has cuts in its edit list: times are those of all that was recorded",
             false);
    }
  }
  if (past_end > 0) {
    EndsAs(FileEnd::kCut, recording);
    Remark(recording,
           fmt::format("the file is cut short: {} pictures and blocks of sound of its index are "
                       "gone",
                       past_end),
           true);
  }
  if (movie.fragmented) {
    TakeFragments(source, movie, places, sums, stop, recording);
  } else if (stop.stop_requested()) {
    TellStopped(recording);
  }
}

}  // namespace probes
