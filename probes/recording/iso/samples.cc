// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/iso/samples.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "probes/recording/iso/sound.h"

namespace probes {
namespace {

constexpr std::size_t kWindowBytes = 64 << 10;
constexpr std::int64_t kEntriesForUsual = 10'000;
constexpr std::int64_t kEntriesPerLook = 65'536;

}  // namespace

IsoSamples::IsoSamples(ByteSource& source, const IsoTrack& track, const std::stop_token& stop)
    : track_(track),
      stop_(stop),
      durations_(source),
      offsets_(source, kWindowBytes),
      sizes_(source, kWindowBytes),
      chunks_(source),
      places_(source, kWindowBytes),
      file_bytes_(source.size()) {}

/// False where it is asked to stop; asked for every entry, since many may stand for no sample.
bool IsoSamples::GoesOn() {
  stopped_ = stopped_ || (++looked_ % kEntriesPerLook == 0 && stop_.stop_requested());
  return !stopped_;
}

bool IsoSamples::NextDuration() {
  while (duration_left_ == 0) {
    if (duration_entry_ >= track_.durations.entries || !GoesOn()) {
      return false;
    }
    const std::int64_t at = track_.durations.at + 8 * duration_entry_++;
    duration_left_ = static_cast<std::int64_t>(durations_.Number(at, 4).value_or(0));
    duration_ = static_cast<std::int64_t>(durations_.Number(at + 4, 4).value_or(0));
  }
  return true;
}

bool IsoSamples::NextOffset() {
  while (offset_left_ == 0) {
    if (offset_entry_ >= track_.offsets.entries || !GoesOn()) {
      offset_ = 0;
      return false;
    }
    const std::int64_t at = track_.offsets.at + 8 * offset_entry_++;
    offset_left_ = static_cast<std::int64_t>(offsets_.Number(at, 4).value_or(0));
    // Writers of version 0 tables store negative ones, too.
    offset_ = static_cast<std::int32_t>(offsets_.Number(at + 4, 4).value_or(0));
  }
  return true;
}

bool IsoSamples::NextChunk() {
  while (chunk_left_ == 0) {
    if (chunk_ >= track_.places.entries || track_.chunks.entries == 0 || !GoesOn()) {
      return false;
    }
    const std::int64_t place_at = track_.places.at + track_.place_bytes * chunk_;
    ++chunk_;
    const auto entry = [&](std::int64_t number, std::int64_t field) {
      const std::int64_t at = track_.chunks.at + 12 * number + field;
      return static_cast<std::int64_t>(chunks_.Number(at, 4).value_or(0));
    };
    while (chunk_entry_ + 1 < track_.chunks.entries && entry(chunk_entry_ + 1, 0) <= chunk_ &&
           GoesOn()) {
      ++chunk_entry_;
    }
    chunk_left_ = entry(chunk_entry_, 4);
    const auto place = places_.Number(place_at, static_cast<std::size_t>(track_.place_bytes));
    place_ = static_cast<std::int64_t>(
        std::min<std::uint64_t>(place.value_or(0), std::uint64_t{1} << 60));
  }
  return true;
}

std::int64_t IsoSamples::SizeOf(std::int64_t sample) {
  if (track_.constant_size > 0) {
    return track_.constant_size;
  }
  if (track_.size_bits == 4) {
    const auto pair = sizes_.Number(track_.sizes.at + sample / 2, 1).value_or(0);
    return static_cast<std::int64_t>(sample % 2 == 0 ? pair >> 4 : pair & 15);
  }
  const auto bytes = static_cast<std::size_t>(track_.size_bits / 8);
  const auto at = track_.sizes.at + sample * static_cast<std::int64_t>(bytes);
  return static_cast<std::int64_t>(sizes_.Number(at, bytes).value_or(0));
}

std::optional<IsoSample> IsoSamples::Next(bool runs) {
  if (sample_ >= track_.sizes.entries || !NextDuration() || decoded_ > kMostTicks) {
    return std::nullopt;
  }
  const bool placed = NextChunk();
  if (!placed && track_.places.entries > 0) {
    return std::nullopt;  // more samples than the chunks hold
  }
  const bool composed = NextOffset();
  if (!GoesOn()) {
    return std::nullopt;
  }
  IsoSample sample{decoded_, offset_, duration_, SizeOf(sample_), 1, true};
  if (runs && track_.constant_size > 0 && !composed) {
    sample.count = std::min(duration_left_, track_.sizes.entries - sample_);
    sample.count = placed ? std::min(sample.count, chunk_left_) : sample.count;
    sample.bytes *= sample.count;
  }
  if (duration_ > kMostTicks / sample.count) {
    return std::nullopt;
  }
  if (placed) {
    sample.whole = place_ <= file_bytes_ - sample.bytes;
    place_ += sample.bytes;
    chunk_left_ -= sample.count;
  }
  duration_left_ -= sample.count;
  offset_left_ -= composed ? sample.count : 0;
  sample_ += sample.count;
  decoded_ += duration_ * sample.count;
  return sample;
}

std::int64_t UsualDuration(ByteSource& source, const IsoTrack& track) {
  ByteWindow bytes(source);
  std::map<std::uint64_t, std::uint64_t> samples_of;
  for (std::int64_t i = 0; i < std::min(track.durations.entries, kEntriesForUsual); ++i) {
    const std::int64_t at = track.durations.at + 8 * i;
    samples_of[bytes.Number(at + 4, 4).value_or(0)] += bytes.Number(at, 4).value_or(0);
  }
  const auto most = std::max_element(
      samples_of.begin(), samples_of.end(),
      [](const auto& left, const auto& right) { return left.second < right.second; });
  return most == samples_of.end() ? 0 : static_cast<std::int64_t>(most->first);
}

PacketTime PictureOf(const IsoSample& sample, const IsoTrack& track) {
  return {sample.decoded + sample.offset + track.shift_ticks, sample.decoded + track.shift_ticks,
          sample.bytes, false};
}

SoundRun SoundOf(const IsoSample& sample, const IsoTrack& track, std::int64_t usual) {
  const double duration_s =
      static_cast<double>(sample.duration) / static_cast<double>(track.ticks_per_second);
  const auto count = static_cast<double>(sample.count);
  const std::int64_t shown = sample.decoded + sample.offset + track.shift_ticks;
  const double block_s = SoundInBlock(track, sample.bytes, usual);
  SoundRun run;
  run.first = {shown, shown, sample.bytes, false};
  run.counted = block_s > 0;
  if (track.pcm_bytes > 0 || sample.count == 1 || !run.counted) {
    // A chunk of single samples is one block.
    run.carried_s = run.counted ? block_s : duration_s * count;
  } else {
    run.packets = sample.count;
    run.step_s = duration_s;
    run.carried_s = block_s;
  }
  return run;
}

std::int64_t TakePictures(ByteSource& source, const IsoTrack& track, PictureTimes& pictures,
                          const std::stop_token& stop) {
  std::int64_t past_end = 0;
  IsoSamples samples(source, track, stop);
  while (const auto sample = samples.Next(false)) {
    if (sample->whole) {
      pictures.Add(PictureOf(*sample, track));
    } else {
      ++past_end;
    }
  }
  return past_end;
}

std::int64_t TakeSound(ByteSource& source, const IsoTrack& track, SoundTimes& sound,
                       const std::stop_token& stop) {
  std::int64_t past_end = 0;
  const std::int64_t usual = UsualDuration(source, track);
  IsoSamples samples(source, track, stop);
  while (const auto sample = samples.Next(true)) {
    if (sample->whole) {
      sound.Add(SoundOf(*sample, track, usual));
    } else {
      past_end += sample->count;
    }
  }
  return past_end;
}

}  // namespace probes
