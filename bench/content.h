// SPDX-License-Identifier: Apache-2.0
//
// Simulated pictures of known difficulty: what the cameras of a rehearsal see.

#pragma once

#include <cstdint>

#include "base/ffmpeg.h"
#include "profiles/profile.h"

namespace bench {

/// Paints pictures that move in a circle: picture `count` equals picture 0,
/// so that a ring of `count` pictures plays without a cut. The kinds differ in
/// detail, in the share of the picture that moves, in speed and in noise:
///   plain: a lit wall, hardly any noise;  talk: a person before a detailed
///   room;  stage: dark, moving coloured lights, strong noise;  busy: all of
///   a finely detailed picture pans, as in sports.
class Painter {
 public:
  /// `seed` makes cameras of one kind differ.
  Painter(profiles::Content content, int width, int height, std::uint32_t seed);
  ~Painter();
  Painter(const Painter&) = delete;
  Painter& operator=(const Painter&) = delete;

  /// `onto` is a writable yuv420p picture of the painter's size.
  void Paint(int index, int count, AVFrame& onto) const;

 private:
  struct Scene;
  std::unique_ptr<Scene> scene_;
};

}  // namespace bench
