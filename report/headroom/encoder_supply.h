// SPDX-License-Identifier: Apache-2.0
//
// Encoders that the profile needs against those that really opened.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "probes/data/pci_gpu.h"
#include "profiles/profile.h"

namespace report {

/// Encodes with one codec and one choice of encoder; outputs that share an encode count once.
struct EncoderNeed {
  std::string codec;
  profiles::EncoderChoice choice = profiles::EncoderChoice::kAny;
  int count = 0;

  /// "h264 hardware encoders".
  std::string What() const;
};

struct EncoderSource {
  bool works = false;
  std::string encoder;
  std::optional<int> sessions;        // counted hardware sessions; nothing: not limited
  std::vector<std::string> refusals;  // "name: FFmpeg's reason"
  bool tried = false;                 // some encoder of the kind exists
};

std::vector<EncoderNeed> EncoderNeeds(const profiles::Profile& profile);
EncoderSource SupplyFor(const EncoderNeed& need, const probes::CodecInventory& codecs);

}  // namespace report
