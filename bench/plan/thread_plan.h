// SPDX-License-Identifier: Apache-2.0
//
// How many threads each encoder gets, from the CPUs of the machine and the work of all encodes.

#pragma once

#include <string>
#include <vector>

#include "base/rational.h"
#include "profiles/profile.h"

namespace bench {

/// One encode as far as its threads go.
struct EncodeWork {
  std::string encoder;  // FFmpeg's name; "null" encodes nothing
  bool hardware = false;
  profiles::Raster raster;
  base::Rational rate{30};
  profiles::Effort effort = profiles::Effort::kLow;
};

struct ThreadChoice {
  int threads = 1;
  std::string why;  // "60 % of the encode work on 4 CPUs, and twice that share: ..."
};

/// CPU time per macroblock against the quickest H.264 encode: measured with
/// rigproof-costs at 640x352 with talk pictures, CPU of whole processes, rounded
/// (x264 164, x265 3.5, SVT-AV1 1.4.1, FFmpeg's MJPEG).
double EffortWeight(const std::string& encoder, profiles::Effort effort);

/// Macroblocks a second, times EffortWeight; 0 for hardware and where nothing is encoded.
double WorkOf(const EncodeWork& encode);

/// The most threads that find work in one encode of `raster`. x264 lets each
/// thread have two rows of macroblocks at least (its encoder.c, where it
/// chooses by itself); x265 works on rows of 64 at once (its threading
/// documentation, "wavefront"); others: as x264, common practice. 16 at most:
/// beyond, rate control suffers more than speed gains (common practice).
int MostThreads(const std::string& encoder, const profiles::Raster& raster);

/// One choice for each of `encodes`. `usable_cpus` is a fraction under a quota.
std::vector<ThreadChoice> PlanThreads(const std::vector<EncodeWork>& encodes, double usable_cpus);

}  // namespace bench
