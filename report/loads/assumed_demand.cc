// SPDX-License-Identifier: Apache-2.0
//
// Assumptions in words and in rows.

#include "report/loads/assumed_demand.h"

#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/text.h"
#include "profiles/demand/capture_demand.h"
#include "profiles/pixel_formats.h"
#include "report/words/quantities.h"

namespace report {

std::string AssumptionOf(const profiles::Source& source) {
  if (!profiles::CapturePayloadOf(source).assumed) {
    return {};
  }
  const profiles::PixelFormat* format = profiles::FindPixelFormat(source.pixel_format);
  return fmt::format("{:g} bits a pixel of {}", format->bits_per_pixel_x10 / 10.0, format->name);
}

AssumedPart AssumedOf(const Facts& facts, const UsbLink& link) {
  AssumedPart assumed{link.assumed_bytes_per_second, {}, kOpenAllAtOnce};
  for (const probes::UsbDevice* capture : link.captures) {
    if (const UsbStream* stream = FindStream(facts.streams, capture)) {
      assumed.Add(stream->assumption);
    }
  }
  return assumed;
}

std::string BytesWithAssumption(double bytes_per_second, const std::string& assumption) {
  const std::string bytes = base::FormatBytesPerSecond(bytes_per_second);
  return assumption.empty() ? bytes : fmt::format("{} (assumed: {})", bytes, assumption);
}

void AssumedPart::Add(const std::string& assumption) {
  if (!assumption.empty() &&
      std::find(assumed.begin(), assumed.end(), assumption) == assumed.end()) {
    assumed.push_back(assumption);
  }
}

std::string AssumedPart::Text() const {
  return fmt::format("{}", fmt::join(assumed, ", "));
}

}  // namespace report
