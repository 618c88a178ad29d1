// SPDX-License-Identifier: Apache-2.0
//
// Audio streams and translators. Sources: Linux 6.12 drivers/usb/core/hcd.c (usb_calc_bus_time),
// drivers/usb/host/{ehci-sched.c,xhci.h}, include/uapi/linux/usb/ch11.h (hub protocols).

#include "report/loads/usb_others.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

namespace report {
namespace {

constexpr int kAudioClass = 1;
constexpr int kAudioStreaming = 2;
constexpr int kTranslatorForEachPort = 2;
constexpr int kDeepest = 12;
constexpr int kToPc = 0x80;

bool Slow(const probes::UsbDevice& device) {
  return device.speed_mbps > 0 && device.speed_mbps < 480;
}

// The largest isochronous endpoint of each audio streaming interface.
std::map<int, const probes::UsbEndpoint*> LargestAudio(const probes::UsbDevice& device) {
  std::map<int, const probes::UsbEndpoint*> largest;
  for (const probes::UsbInterface& interface : device.interfaces) {
    if (interface.interface_class != kAudioClass || interface.subclass != kAudioStreaming) {
      continue;
    }
    for (const probes::UsbEndpoint& endpoint : interface.endpoints) {
      const probes::UsbEndpoint*& kept = largest[interface.number];
      if (endpoint.type == probes::TransferType::kIsochronous &&
          (kept == nullptr || endpoint.bytes_per_interval > kept->bytes_per_interval)) {
        kept = &endpoint;
      }
    }
  }
  std::erase_if(largest, [](const auto& entry) { return entry.second == nullptr; });
  return largest;
}

/// The hub whose translator serves a slow device, and the port of that hub.
struct Translator {
  const probes::UsbDevice* hub = nullptr;
  int port = 0;

  bool operator<(const Translator& other) const {
    return std::pair(hub, port) < std::pair(other.hub, other.port);
  }
};

Translator TranslatorOf(const std::vector<UsbLink>& links, const probes::UsbDevice& device) {
  const probes::UsbDevice* below = &device;
  for (int tier = 0; tier < kDeepest && !below->parent.empty(); ++tier) {
    const UsbLink* above = FindLink(links, below->parent);
    if (above == nullptr || above->device == nullptr || above->RootHub()) {
      return {};
    }
    if (!Slow(*above->device)) {
      const bool each = above->device->protocol == kTranslatorForEachPort;
      return {above->device, each ? below->port : 0};
    }
    below = above->device;
  }
  return {};
}

UsbLink* LinkAt(std::vector<UsbLink>& links, const std::string& path) {
  const auto found = std::find_if(links.begin(), links.end(),
                                  [&](const auto& link) { return link.Path() == path; });
  return found == links.end() ? nullptr : &*found;
}

// Visits a device's link and those above it on which time is divided.
template <typename Add>
void Upwards(std::vector<UsbLink>& links, std::string path, Add add) {
  for (int tier = 0; tier < kDeepest && !path.empty(); ++tier) {
    UsbLink* link = LinkAt(links, path);
    if (link == nullptr || link->device == nullptr) {
      return;
    }
    if (link->reservable_us) {
      add(*link);
    }
    path = link->device->parent;
  }
}

void AddTranslators(std::vector<UsbLink>& links, const std::set<Translator>& active) {
  for (const Translator& translator : active) {
    Upwards(links, translator.hub->path, [](UsbLink& link) {
      // One split of a full-speed transfer stands for all that the translator passes on at once.
      const PeriodicTransfer split{12, 188, 188, 1};
      link.others_us += TimeOnLink(split, link.device->speed_mbps, link.Scheduler()).most_us;
    });
  }
}

double ToUs(std::int64_t nanoseconds) {
  return static_cast<double>(nanoseconds) / 1e3;
}

// The longest of the interrupt endpoints; they are spread over frames.
double LongestInterruptUs(const probes::UsbDevice& device) {
  double longest = 0;
  for (const probes::UsbInterface& interface : device.interfaces) {
    for (const probes::UsbEndpoint& endpoint : interface.endpoints) {
      if (endpoint.type == probes::TransferType::kInterrupt) {
        longest = std::max(
            longest, ToUs(SlowBusNanoseconds(device.speed_mbps, (endpoint.address & kToPc) != 0,
                                             false, endpoint.max_packet_bytes)));
      }
    }
  }
  return longest;
}

double IsochronousUs(const UsbLink& link) {
  double us = link.reserved.most_us;  // of a capture at full speed
  for (const auto& [number, endpoint] : LargestAudio(*link.device)) {
    us += ToUs(SlowBusNanoseconds(link.device->speed_mbps, (endpoint->address & kToPc) != 0, true,
                                  endpoint->bytes_per_interval));
  }
  return us;
}

}  // namespace

std::vector<PeriodicTransfer> AudioTransfers(const probes::UsbDevice& device) {
  std::vector<PeriodicTransfer> transfers;
  for (const auto& [number, endpoint] : LargestAudio(device)) {
    transfers.push_back({device.speed_mbps, endpoint->bytes_per_interval,
                         endpoint->max_packet_bytes, IntervalPeriod(*endpoint, device.speed_mbps)});
  }
  return transfers;
}

void AddOtherPeriodic(std::vector<UsbLink>& links) {
  std::set<Translator> active;
  std::vector<std::pair<std::string, std::vector<PeriodicTransfer>>> streams;
  for (const UsbLink& link : links) {
    if (link.device == nullptr) {
      continue;
    }
    std::vector<PeriodicTransfer> transfers = AudioTransfers(*link.device);
    if (transfers.empty()) {
      continue;
    }
    const Translator translator =
        Slow(*link.device) ? TranslatorOf(links, *link.device) : Translator{};
    if (translator.hub != nullptr) {
      active.insert(translator);
    }
    streams.emplace_back(link.device->path, std::move(transfers));
  }
  for (const auto& [path, transfers] : streams) {
    const double speed = transfers.front().speed_mbps;
    Upwards(links, path, [&, list = &transfers](UsbLink& link) {
      // Above its translator a slow device counts with that.
      if ((speed < 480) != Slow(*link.device)) {
        return;
      }
      for (const PeriodicTransfer& transfer : *list) {
        link.others_us +=
            TimeOnLink(transfer, link.device->speed_mbps, link.Scheduler(), LanesOf(*link.device))
                .most_us;
      }
    });
  }
  AddTranslators(links, active);
}

std::vector<TranslatorLoad> LoadTranslators(const std::vector<UsbLink>& links) {
  std::vector<TranslatorLoad> loads;
  for (const UsbLink& link : links) {
    if (link.device == nullptr || link.device->role == probes::UsbRole::kHub ||
        !Slow(*link.device)) {
      continue;
    }
    const Translator translator = TranslatorOf(links, *link.device);
    if (translator.hub == nullptr) {
      continue;
    }
    auto load = std::find_if(loads.begin(), loads.end(), [&](const auto& one) {
      return one.hub == translator.hub && one.port == translator.port;
    });
    if (load == loads.end()) {
      load = loads.insert(loads.end(), {translator.hub, translator.port});
    }
    const double isochronous = IsochronousUs(link);
    const double interrupt = LongestInterruptUs(*link.device);
    load->isochronous_us += isochronous;
    load->interrupt_us = std::max(load->interrupt_us, interrupt);
    load->devices.push_back(link.device);
    load->lines.push_back(fmt::format("{}: up to {:.0f} us of each frame",
                                      DeviceLabel(*link.device),
                                      isochronous > 0 ? isochronous : interrupt));
  }
  return loads;
}

}  // namespace report
