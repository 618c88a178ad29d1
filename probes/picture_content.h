// SPDX-License-Identifier: Apache-2.0
//
// Whether a picture shows the same as the one before, and stretches of such pictures.

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>

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

/// Whether no block of 16 x 16 samples differs by more than `most_codes` (of 255) in the mean.
/// False for planes of different form.
bool SamePicture(const LumaPlane& left, const LumaPlane& right, double most_codes);

/// Counts pictures that show the same as before. Times on the recording's own clock, in order.
class StillWatch {
 public:
  void Add(double at_s, bool same, bool damaged);
  /// Refused by the decoder.
  void AddDamaged() { ++content_.damaged; }
  PictureContent Finish(double zero_s);

 private:
  void EndStretch(double end_s);

  PictureContent content_;
  std::optional<StillStretch> open_;
  double last_s_ = 0;
  double period_s_ = 0;  // of the last step
};

}  // namespace probes
