// SPDX-License-Identifier: Apache-2.0
//
// Whether a picture shows the same as the one before, and stretches of such pictures.

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "probes/data/recording.h"

namespace probes {

/// The brightness samples of a picture: `step` bytes from one to the next, `depth` bits each (8 to
/// 16, little-endian, `shift` bits up).
struct LumaPlane {
  const std::uint8_t* data = nullptr;
  std::ptrdiff_t stride = 0;  // bytes from row to row, below zero where stored upside down
  int width = 0;
  int height = 0;
  int step = 1;
  int depth = 8;
  int shift = 0;
};

/// How far two pictures are apart, in codes of 255.
struct PictureDifference {
  double most = 0;     // mean of the block of 16 x 16 samples that differs most
  double quarter = 0;  // that a quarter of the blocks stay below: noise, where most stands still
  double mean = 0;     // of all blocks
};

/// Nothing for planes of different form, or without samples.
std::optional<PictureDifference> DifferenceOf(const LumaPlane& left, const LumaPlane& right);

/// Counts pictures that show the same as before. Times on the recording's own clock, in order.
class StillWatch {
 public:
  /// `difference` to the picture before; nothing where they cannot be compared.
  void Add(double at_s, const std::optional<PictureDifference>& difference, bool damaged);
  /// Refused by the decoder.
  void AddDamaged() { ++content_.damaged; }
  PictureContent Finish(double zero_s);

 private:
  bool Same(const PictureDifference& difference);
  void EndStretch(double end_s);

  PictureContent content_;
  std::vector<PictureDifference> new_;  // of the last pictures that were new, in a circle
  std::size_t oldest_ = 0;
  std::optional<StillStretch> open_;
  double last_s_ = 0;
  double period_s_ = 0;  // of the last step
};

}  // namespace probes
