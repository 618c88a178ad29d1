// SPDX-License-Identifier: Apache-2.0
//
// Simulated pictures of known difficulty: what the cameras of a rehearsal see.

#pragma once

#include <cstdint>
#include <optional>

#include "base/media/ffmpeg.h"
#include "profiles/profile.h"

namespace bench {

/// The next kind in order of cost; the user's own clip is held against busy
/// pictures. Nothing is harder than those.
std::optional<profiles::Content> HarderThan(profiles::Content content);

/// Paints pictures that move in a circle: picture `count` equals picture 0,
/// so that a ring of `count` pictures plays without a cut; the speed per picture
/// does not depend on `count`. The kinds differ in detail, in the share of the
/// picture that moves, in speed and in noise, and stand in order of cost:
///   plain: a lit wall, hardly any noise;  talk: a person before a detailed
///   room;  stage: dark, three people, moving coloured lights, strong noise;
///   busy: all of a finely detailed picture pans, many people run, as in sports.
/// At a constant quantiser each takes at least 1.6 times the bits of the one
/// before; bench/RESULTS.md holds them against real pictures.
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
