// SPDX-License-Identifier: Apache-2.0
//
// Matching of profile sources to USB capture devices.

#include "report/loads/source_match.h"

#include <algorithm>
#include <cctype>
#include <cstddef>
#include <cstdint>

#include <fmt/format.h>

#include "profiles/demand/capture_demand.h"

namespace report {
namespace {

constexpr double kUnitsPerSecond = 1e7;  // intervals come in 100 ns
// 333333 stands for 1/30 s. One part in a thousand is also what parts 59.94 from 60, so half of
// that is allowed.
constexpr double kRateTolerance = 1.0005;

bool Named(const probes::UsbDevice& device, const std::string& text) {
  if (device.path == text) {
    return true;
  }
  return ContainsInAnyCase(device.vendor + " " + device.product, text);
}

class Matcher {
 public:
  explicit Matcher(const probes::UsbInventory& usb) {
    for (const probes::UsbDevice& device : usb.devices) {
      if (device.role == probes::UsbRole::kCapture) {
        free_.push_back(&device);
      }
    }
  }

  const probes::UsbDevice* TakeNamed(const std::string& text) {
    return Take([&](const probes::UsbDevice& device) { return Named(device, text); });
  }

  const probes::UsbDevice* TakeAny(const profiles::Source& source) {
    if (const auto* fits =
            Take([&](const probes::UsbDevice& device) { return OffersMode(device, source); })) {
      return fits;
    }
    // Modes that could not be read rank before modes that do not fit.
    if (const auto* silent =
            Take([](const probes::UsbDevice& device) { return OfferedModes(device).empty(); })) {
      return silent;
    }
    return Take([](const probes::UsbDevice&) { return true; });
  }

 private:
  template <typename Test>
  const probes::UsbDevice* Take(Test test) {
    const auto found = std::find_if(free_.begin(), free_.end(),
                                    [&](const probes::UsbDevice* device) { return test(*device); });
    if (found == free_.end()) {
      return nullptr;
    }
    const probes::UsbDevice* device = *found;
    free_.erase(found);
    return device;
  }

  std::vector<const probes::UsbDevice*> free_;
};

void Assign(const probes::UsbDevice* device, MatchedSource& matched) {
  if (device == nullptr) {
    return;
  }
  matched.device_path = device->path;
  matched.mode_offered = OfferedModes(*device).empty() || OffersMode(*device, matched.asked);
}

}  // namespace

bool MatchedSource::Assumed() const {
  return profiles::CapturePayloadOf(asked).assumed;
}

std::vector<const MatchedSource*> SourceMatch::Missing() const {
  std::vector<const MatchedSource*> missing;
  for (const MatchedSource& matched : sources) {
    if (matched.device_path.empty()) {
      missing.push_back(&matched);
    }
  }
  return missing;
}

const MatchedSource* SourceMatch::Of(const std::string& source) const {
  const auto found = std::find_if(sources.begin(), sources.end(),
                                  [&](const MatchedSource& one) { return one.source == source; });
  return found == sources.end() ? nullptr : &*found;
}

std::optional<double> RateOffered(const probes::CaptureMode& mode, double asked) {
  const double longest = kUnitsPerSecond / asked * kRateTolerance;
  std::int64_t chosen = 0;
  for (const std::int64_t interval : mode.intervals_100ns) {
    if (interval > 0 && static_cast<double>(interval) <= longest) {
      chosen = std::max(chosen, interval);
    }
  }
  if (chosen == 0) {
    return std::nullopt;
  }
  if (mode.interval_step_100ns > 0 && mode.intervals_100ns.back() > chosen) {
    return asked;  // within a continuous range
  }
  const double offered = kUnitsPerSecond / static_cast<double>(chosen);
  return offered > asked * kRateTolerance ? offered : asked;
}

const std::vector<probes::CaptureMode>& OfferedModes(const probes::UsbDevice& device) {
  return device.driver_modes.known() ? *device.driver_modes : device.modes;
}

bool OffersMode(const probes::UsbDevice& device, const profiles::Source& source) {
  const double asked = base::ToDouble(source.rate);
  const auto& modes = OfferedModes(device);
  return std::any_of(modes.begin(), modes.end(), [&](const auto& mode) {
    return mode.pixel_format == source.pixel_format && mode.width == source.raster.width &&
           mode.height == source.raster.height && RateOffered(mode, asked);
  });
}

bool ContainsInAnyCase(const std::string& text, const std::string& part) {
  const auto same = [](char a, char b) {
    return std::tolower(static_cast<unsigned char>(a)) ==
           std::tolower(static_cast<unsigned char>(b));
  };
  return std::search(text.begin(), text.end(), part.begin(), part.end(), same) != text.end() ||
         part.empty();
}

SourceMatch MatchUsbSources(const profiles::Profile& profile, const profiles::Demand& demand,
                            const probes::UsbInventory& usb) {
  SourceMatch match;
  for (std::size_t i = 0; i < profile.sources.size(); ++i) {
    const profiles::Source& source = profile.sources[i];
    if (source.arrives_by != profiles::ArrivesBy::kUsb) {
      continue;
    }
    MatchedSource matched;
    matched.source = source.name;
    matched.asked = source;
    matched.wanted = fmt::format("{}x{} {} at {}", source.raster.width, source.raster.height,
                                 source.pixel_format, base::ToShortText(source.rate));
    if (i < demand.sources.size()) {
      matched.bytes_per_second = demand.sources[i].bytes_per_second;
    }
    match.sources.push_back(std::move(matched));
  }
  Matcher matcher(usb);
  for (MatchedSource& matched : match.sources) {
    if (!matched.asked.device.empty()) {
      Assign(matcher.TakeNamed(matched.asked.device), matched);
    }
  }
  for (MatchedSource& matched : match.sources) {
    if (matched.asked.device.empty()) {
      Assign(matcher.TakeAny(matched.asked), matched);
    }
  }
  return match;
}

}  // namespace report
