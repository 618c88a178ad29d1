// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/times/sums.h"

#include <algorithm>
#include <cmath>

#include "probes/recording/times/clock_steps.h"

namespace probes {
namespace {

constexpr double kMostOverlapSeconds = 1;
constexpr double kLeastForClocksSeconds = 10;
constexpr double kLeastForEndsSeconds = 60;
constexpr double kTogetherSeconds = 1;
constexpr double kMostDriftPpm = 1'000;  // clocks of sound are nearer (common practice: 100)
/// Two picture periods and a block of sound, that a recorder may cut one after the other.
constexpr double kPicturesAtEnds = 2;
constexpr double kSoundAtEndsSeconds = 0.05;

bool SameTrack(const TrackFacts& left, const TrackFacts& right) {
  return left.kind == right.kind && left.tick_s == right.tick_s;
}

base::Reading<ClockSlope> ByClocks(const TrackTimes& sound) {
  using Reading = base::Reading<ClockSlope>;
  if (!sound.clock) {
    return Reading::Unknown(sound.end_s - sound.first_s < kLeastForClocksSeconds
                                ? "too short: it takes some ten seconds"
                                : "the container does not tell times and samples apart");
  }
  return SoundEarly(*sound.clock);
}

base::Reading<ClockSlope> ByEnds(const TrackTimes& pictures, const TrackTimes& sound) {
  using Reading = base::Reading<ClockSlope>;
  const double pictures_s = pictures.end_s - pictures.first_s;
  const double sound_s = sound.end_s - sound.first_s;
  if (pictures.step_count > 0 || sound.step_count > 0) {
    return Reading::Unknown("times jump");
  }
  if (pictures_s < kLeastForEndsSeconds) {
    return Reading::Unknown("too short: it takes a minute");
  }
  const double period_s = pictures.rate_numerator > 0
                              ? static_cast<double>(pictures.rate_denominator) /
                                    static_cast<double>(pictures.rate_numerator)
                              : 0;
  const double early = (pictures_s - sound_s) / pictures_s * 1e6;
  if (std::fabs(sound.first_s - pictures.first_s) > kTogetherSeconds ||
      std::fabs(early) > kMostDriftPpm) {
    return Reading::Unknown("they were not started and stopped together");
  }
  const double half = (kPicturesAtEnds * period_s + kSoundAtEndsSeconds) / pictures_s * 1e6;
  return ClockSlope{early, early - half, early + half, pictures_s};
}

}  // namespace

bool RecordingSums::BeginFile(const std::vector<TrackFacts>& tracks, std::optional<double> start_s,
                              bool restarts) {
  if (tracks_.empty()) {
    for (const TrackFacts& facts : tracks) {
      Sums sums{facts, nullptr, nullptr};
      if (facts.kind == TrackKind::kVideo) {
        sums.pictures = std::make_unique<PictureTimes>(
            facts.tick_s, facts.stated_rate,
            PictureFacts{facts.times_from, facts.reorders, facts.codec_rate});
      } else if (facts.kind == TrackKind::kAudio) {
        sums.sound = std::make_unique<SoundTimes>(facts.tick_s, facts.samples_per_second,
                                                  facts.lead_in_s, facts.times_from);
      }
      tracks_.push_back(std::move(sums));
    }
    file_begun_s_ = start_s.value_or(0);
    return true;
  }
  const bool same =
      tracks.size() == tracks_.size() && std::equal(tracks.begin(), tracks.end(), tracks_.begin(),
                                                    [](const TrackFacts& facts, const Sums& sums) {
                                                      return SameTrack(facts, sums.facts);
                                                    });
  if (!same) {
    return false;
  }
  for (Sums& sums : tracks_) {
    if (sums.pictures) {
      sums.pictures->Settle();
    }
  }
  const auto before_s = end_s();
  if (start_s && before_s) {
    const double overlap_s =
        std::min(kMostOverlapSeconds, (*before_s - file_begun_s_ - shift_s_) / 2);
    if (restarts || *start_s + shift_s_ < *before_s - std::max(0.0, overlap_s)) {
      shift_s_ = *before_s - *start_s;
    }
    file_begun_s_ = *start_s;
  }
  for (Sums& sums : tracks_) {
    if (sums.pictures) {
      sums.pictures->Join(shift_s_);
    } else if (sums.sound) {
      sums.sound->Join(shift_s_);
    }
  }
  return true;
}

PictureTimes* RecordingSums::Pictures(std::size_t track) {
  return track < tracks_.size() ? tracks_[track].pictures.get() : nullptr;
}

SoundTimes* RecordingSums::Sound(std::size_t track) {
  return track < tracks_.size() ? tracks_[track].sound.get() : nullptr;
}

std::optional<double> RecordingSums::first_s() const {
  std::optional<double> first;
  for (const Sums& sums : tracks_) {
    const auto one = sums.pictures ? sums.pictures->first_s()
                     : sums.sound  ? sums.sound->first_s()
                                   : std::nullopt;
    if (one) {
      first = std::min(first.value_or(*one), *one);
    }
  }
  return first;
}

std::optional<double> RecordingSums::end_s() const {
  std::optional<double> end;
  for (const Sums& sums : tracks_) {
    const auto one = sums.pictures ? sums.pictures->end_s()
                     : sums.sound  ? sums.sound->end_s()
                                   : std::nullopt;
    if (one) {
      end = std::max(end.value_or(*one), *one);
    }
  }
  return end;
}

void RecordingSums::Finish(Recording& recording) {
  for (Sums& sums : tracks_) {
    if (sums.pictures) {
      sums.pictures->Flush();
    }
  }
  const double zero_s = first_s().value_or(0);
  for (std::size_t i = 0; i < tracks_.size(); ++i) {
    Sums& sums = tracks_[i];
    TrackTimes times;
    if (sums.pictures) {
      times = sums.pictures->Finish(zero_s);
    } else if (sums.sound) {
      times = sums.sound->Finish(zero_s);
    }
    times.index = static_cast<int>(i);
    times.kind = sums.facts.kind;
    times.codec = sums.facts.codec;
    times.what = sums.facts.what;
    recording.tracks.push_back(std::move(times));
  }
  TurnStepsIntoHoles(recording.tracks);
  for (const TrackTimes& track : recording.tracks) {
    recording.length_s = std::max(recording.length_s, track.end_s);
    if (track.kind != TrackKind::kAudio || track.present == 0) {
      continue;
    }
    if (const TrackTimes* pictures = PicturesFor(track, recording.tracks)) {
      recording.drifts.push_back(DriftOf(*pictures, track));
    }
  }
}

/// The first pictures of the programme that the sound belongs to.
const TrackTimes* RecordingSums::PicturesFor(const TrackTimes& sound,
                                             const std::vector<TrackTimes>& tracks) const {
  const int programme = tracks_[static_cast<std::size_t>(sound.index)].facts.programme;
  for (const TrackTimes& track : tracks) {
    if (track.kind == TrackKind::kVideo && track.present > 0 &&
        tracks_[static_cast<std::size_t>(track.index)].facts.programme == programme) {
      return &track;
    }
  }
  return nullptr;
}

AvDrift DriftOf(const TrackTimes& pictures, const TrackTimes& sound) {
  AvDrift drift;
  drift.sound_track = sound.index;
  drift.starts_after_ms = 1000 * (sound.first_s - pictures.first_s);
  drift.ends_after_ms = 1000 * (sound.end_s - pictures.end_s);
  drift.by_clocks = ByClocks(sound);
  drift.by_ends = ByEnds(pictures, sound);
  return drift;
}

}  // namespace probes
