// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: what reads recordings without a library's help. The first byte chooses: an MP4
// file, times of packets, a list of files, or a Matroska file.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <optional>
#include <span>
#include <stop_token>
#include <string_view>
#include <vector>

#include "probes/recording/bytes/forward_bytes.h"
#include "probes/recording/containers/segment_list.h"
#include "probes/recording/iso/fragments.h"
#include "probes/recording/iso/movie.h"
#include "probes/recording/iso/samples.h"
#include "probes/recording/matroska/walk.h"
#include "probes/recording/times/picture_times.h"
#include "probes/recording/times/sound_times.h"

namespace {

using probes::IsoSample;
using probes::PictureTimes;
using probes::SoundTimes;

void Require(bool holds) {
  if (!holds) {
    std::abort();
  }
}

void CheckPictures(const probes::TrackTimes& times) {
  Require(times.due ==
          times.present - times.repeated - times.out_of_order - times.untimed + times.missing);
  Require(times.missing >= 0 && times.repeated >= 0 && times.out_of_order >= 0);
  Require(times.gaps.size() <= probes::kMostGaps && times.steps.size() <= probes::kMostSteps);
  Require(static_cast<std::int64_t>(times.gaps.size()) <= times.gap_count);
}

void TakeMovie(std::span<const std::uint8_t> bytes) {
  probes::MemoryBytes source(bytes);
  probes::ByteWindow window(source);
  const auto movie = probes::ReadIsoMovie(window);
  if (!movie) {
    return;
  }
  Require(movie->tracks.size() <= probes::kMostTracks);
  for (const probes::IsoTrack& track : movie->tracks) {
    if (track.ticks_per_second == 0) {
      continue;
    }
    const base::Rational tick(1, track.ticks_per_second);
    PictureTimes pictures(tick, std::nullopt);
    probes::TakePictures(source, track, pictures, {});
    CheckPictures(pictures.Finish(0));
    SoundTimes sound(tick, track.samples_per_second, 0);
    probes::TakeSound(source, track, sound, {});
    sound.Finish(0);
  }
  std::vector<probes::IsoTrackPlace> places;
  std::int64_t taken = 0;
  probes::WalkFragments(source, *movie, places, std::stop_token(),
                        [&](std::size_t track, const IsoSample& sample) {
                          Require(track < movie->tracks.size() && sample.whole);
                          ++taken;
                        });
  Require(taken <= 2 * source.size() + 2);
}

std::int64_t NumberAt(std::span<const std::uint8_t> bytes, std::size_t at) {
  std::int64_t number = 0;
  std::memcpy(&number, bytes.data() + at, sizeof number);
  return number;
}

void TakeMatroska(std::span<const std::uint8_t> data) {
  probes::MemoryBytes source(data);
  probes::ForwardBytes bytes(source);
  const auto head = probes::ReadMatroskaHead(bytes, 0);
  if (!head) {
    return;
  }
  PictureTimes pictures(base::Rational(1, 1000), std::nullopt);
  std::int64_t blocks = 0;
  std::int64_t last_end = 0;
  const auto end = probes::WalkMatroska(
      bytes, *head, std::stop_token(),
      [&](const probes::MatroskaBlock& block) {
        Require(block.track < head->tracks.size() && block.frames >= 1 && block.frames <= 256);
        Require(block.bytes >= 0 && block.ends_at > last_end && block.ends_at <= source.size());
        last_end = block.ends_at;
        pictures.Add({block.at, std::nullopt, block.bytes, false});
        ++blocks;
      },
      [&](std::int64_t at) { Require(at <= source.size()); });
  Require(blocks * 6 <= source.size() && end.lost_bytes <= source.size() && !end.failed);
  Require((end.damaged_places > 0) == (end.damaged_at >= 0));
  Require((end.damaged_places > 0) == (end.lost_bytes > 0));
  CheckPictures(pictures.Finish(0));
}

/// Eight bytes a time; small steps from the one before, or the number itself.
void TakeTimes(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < 16) {
    return;
  }
  const std::int64_t tick = NumberAt(bytes, 0) & INT32_MAX;
  const base::Rational tick_s(1, tick > 0 ? tick : 1);
  PictureTimes pictures(tick_s, std::nullopt);
  SoundTimes sound(tick_s, 48'000, 0.02);
  std::int64_t last = 0;
  for (std::size_t at = 8; at + 8 <= bytes.size(); at += 8) {
    const std::int64_t number = NumberAt(bytes, at);
    if (number % 61 == 0) {
      pictures.Join(static_cast<double>(number % 1000));
      sound.Join(static_cast<double>(number % 1000));
    }
    const bool far = number % 7 == 0;
    last = far ? number : (last % (INT64_C(1) << 60)) + number % 4096;
    const std::optional<std::int64_t> decoded =
        number % 5 == 0 ? std::nullopt : std::optional(last);
    pictures.Add({last, decoded, number % 11, false});
    probes::SoundRun run;
    run.first = {decoded, last, 1, false};
    run.packets = 1 + (number & 63);
    run.step_s = static_cast<double>(number % 100'000) / 48'000;
    run.carried_s = number % 3 == 0 ? run.step_s : 1024.0 / 48'000;
    sound.Add(run);
  }
  CheckPictures(pictures.Finish(0));
  Require(sound.Finish(0).gaps.size() <= probes::kMostGaps);
}

void TakeList(std::span<const std::uint8_t> bytes) {
  const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  probes::LooksLikeSegmentList(text);
  probes::ParseIsoTime(text);
  const auto list = probes::ParseSegmentList(text);
  Require(!list || !list->files.empty());
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  const std::span bytes(data + 1, size - 1);
  switch (data[0] % 5) {
    case 0:
      TakeMovie(bytes);
      break;
    case 1:
      TakeTimes(bytes);
      break;
    case 2:
      TakeList(bytes);
      break;
    case 4:
      TakeMatroska(bytes);
      break;
    default:  // 3 in the seeds: AVI, which only examine_fuzz.cc reads
      break;
  }
  return 0;
}
