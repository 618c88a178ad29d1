// SPDX-License-Identifier: Apache-2.0
//
// The samples of one track of an MP4 or MOV file from its tables, read in step and never held
// whole.

#pragma once

#include <cstdint>
#include <optional>
#include <stop_token>

#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/iso/movie.h"
#include "probes/recording/times/picture_times.h"
#include "probes/recording/times/sound_times.h"

namespace probes {

/// Times in ticks of the track, without its edits.
struct IsoSample {
  std::int64_t decoded = 0;
  std::int64_t offset = 0;  // from decoding to presentation
  std::int64_t duration = 0;
  std::int64_t bytes = 0;  // of all of them
  std::int64_t count = 1;  // samples of the same duration, one after another
  bool whole = true;       // its bytes lie inside the file
};

class IsoSamples {
 public:
  IsoSamples(ByteSource& source, const IsoTrack& track, const std::stop_token& stop);

  /// The next sample; with `runs`, as many as follow each other evenly in one chunk where all
  /// samples have one size. Nothing at their end, or soon after `stop` was requested.
  std::optional<IsoSample> Next(bool runs);

 private:
  bool GoesOn();
  bool NextDuration();
  bool NextOffset();
  bool NextChunk();
  std::int64_t SizeOf(std::int64_t sample);

  const IsoTrack& track_;
  const std::stop_token stop_;
  std::int64_t looked_ = 0;
  bool stopped_ = false;
  ByteWindow durations_;
  ByteWindow offsets_;
  ByteWindow sizes_;
  ByteWindow chunks_;
  ByteWindow places_;
  const std::int64_t file_bytes_;
  std::int64_t sample_ = 0;
  std::int64_t decoded_ = 0;
  std::int64_t duration_entry_ = 0;
  std::int64_t duration_left_ = 0;
  std::int64_t duration_ = 0;
  std::int64_t offset_entry_ = 0;
  std::int64_t offset_left_ = 0;
  std::int64_t offset_ = 0;
  std::int64_t chunk_ = 0;        // begun, from 1
  std::int64_t chunk_entry_ = 0;  // that holds for it
  std::int64_t chunk_left_ = 0;
  std::int64_t place_ = 0;
};

/// The duration that most samples have: that of a whole block of sound.
std::int64_t UsualDuration(ByteSource& source, const IsoTrack& track);

/// One block of sound, or a run of them, from a sample; `usual` in ticks, 0: not known.
SoundRun SoundOf(const IsoSample& sample, const IsoTrack& track, std::int64_t usual);
PacketTime PictureOf(const IsoSample& sample, const IsoTrack& track);

/// All samples of the tables into the sums; how many lie past the file's end.
std::int64_t TakePictures(ByteSource& source, const IsoTrack& track, PictureTimes& pictures,
                          const std::stop_token& stop);
std::int64_t TakeSound(ByteSource& source, const IsoTrack& track, SoundTimes& sound,
                       const std::stop_token& stop);

}  // namespace probes
