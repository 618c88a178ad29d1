// SPDX-License-Identifier: Apache-2.0
//
// Matching of profile sources to USB capture devices.

#include "report/source_match.h"

#include <algorithm>
#include <cctype>
#include <cstddef>
#include <cstdint>
#include <set>

#include <fmt/format.h>

namespace report {
namespace {

std::string Lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

bool Named(const probes::UsbDevice& device, const std::string& text) {
  if (device.path == text) {
    return true;
  }
  const std::string name = Lower(device.vendor + " " + device.product);
  return name.find(Lower(text)) != std::string::npos;
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
            Take([](const probes::UsbDevice& device) { return device.modes.empty(); })) {
      return silent;
    }
    return Take([](const probes::UsbDevice&) { return true; });
  }

  const std::vector<const probes::UsbDevice*>& free() const { return free_; }

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
  matched.mode_offered = device->modes.empty() || OffersMode(*device, matched.asked);
}

}  // namespace

double SourceMatch::BytesPerSecond(const std::string& device_path) const {
  double sum = 0;
  for (const MatchedSource& matched : sources) {
    if (matched.device_path == device_path) {
      sum += matched.bytes_per_second;
    }
  }
  return sum;
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

bool OffersMode(const probes::UsbDevice& device, const profiles::Source& source) {
  // Intervals come in steps of 100 ns: 333333 stands for 1/30 s. One part in
  // a thousand is also what parts 59.94 from 60, so half of that is allowed.
  const double longest_interval = 1e7 / base::ToDouble(source.rate) * 1.0005;
  return std::any_of(device.modes.begin(), device.modes.end(), [&](const auto& mode) {
    return mode.pixel_format == source.pixel_format && mode.width == source.raster.width &&
           mode.height == source.raster.height &&
           std::any_of(mode.intervals_100ns.begin(), mode.intervals_100ns.end(),
                       [&](std::int64_t interval) {
                         return static_cast<double>(interval) <= longest_interval;
                       });
  });
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
  for (const probes::UsbDevice* device : matcher.free()) {
    match.idle_devices.push_back(device->path);
  }
  return match;
}

}  // namespace report
