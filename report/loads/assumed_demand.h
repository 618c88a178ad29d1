// SPDX-License-Identifier: Apache-2.0
//
// Demands of which a part is assumed: they may leave a row unproven, never short.

#pragma once

#include <string>
#include <vector>

#include "report/loads/facts.h"

namespace report {

/// What is assumed of a demand.
struct AssumedPart {
  double demand = 0;                 // of the row's; 0: none of it
  std::vector<std::string> assumed;  // "1.6 bits a pixel of mjpeg", each once
  std::string how_to_prove;

  /// Adds what is not among them yet; an empty one is none.
  void Add(const std::string& assumption);
  std::string Text() const;  // with commas between
};

inline constexpr char kOpenAllAtOnce[] =
    "open the cameras at their modes, all at once, and count their frames (rigproof line-check)";

/// "1.6 bits a pixel of mjpeg": what the payload of a source is assumed from; empty where it is a
/// sum.
std::string AssumptionOf(const profiles::Source& source);
/// What is assumed of the captures on a link.
AssumedPart AssumedOf(const Facts& facts, const UsbLink& link);
/// "24.9 MB/s (assumed: 1.6 bits a pixel of mjpeg)".
std::string BytesWithAssumption(double bytes_per_second, const std::string& assumption);

}  // namespace report
