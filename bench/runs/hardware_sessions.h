// SPDX-License-Identifier: Apache-2.0
//
// What hardware encoders carry, found out by opening them: sessions at once, frames a second.

#pragma once

#include <functional>
#include <memory>
#include <stop_token>
#include <string>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "bench/data/results.h"
#include "bench/plan/plan.h"

namespace bench {

/// One open encoder.
class EncodeSession {
 public:
  EncodeSession() = default;
  virtual ~EncodeSession() = default;
  EncodeSession(const EncodeSession&) = delete;
  EncodeSession& operator=(const EncodeSession&) = delete;

  /// Takes one picture and what packets are ready.
  virtual base::Status EncodeOne() = 0;
};

using SessionOpener = std::function<base::Result<std::unique_ptr<EncodeSession>>()>;

/// One encoder of the plan that is hardware, at the largest raster it has there.
struct HardwareNeed {
  std::string encoder;
  std::string codec;
  profiles::Raster raster;
  base::Rational rate{30};
  int bitrate_kbps = 0;
  std::vector<std::pair<std::string, std::string>> options;
  int sessions = 0;  // encodes that use it
};

/// Hardware encoders that the plan uses, each once; empty when all is software.
std::vector<HardwareNeed> HardwareNeeds(const RehearsalPlan& plan);

/// Opens up to `about.wanted` sessions, each of which has to encode a picture
/// to count, then lets the first one alone and all of them in turn encode for
/// `seconds` each. `about` says which encoder; the rest is filled in.
HardwareEncode MeasureSessions(HardwareEncode about, const SessionOpener& open, base::Clock& clock,
                               double seconds, const std::stop_token& stop = {});

/// The same with FFmpeg's encoder and painted pictures; `more` sessions beyond the plan's.
HardwareEncode MeasureHardware(const HardwareNeed& need, int more, base::Clock& clock,
                               double seconds, const std::stop_token& stop = {});

}  // namespace bench
