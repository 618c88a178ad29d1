// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/bos.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "probes/usb/descriptor_walk.h"

namespace probes {
namespace {

constexpr int kBos = 0x0f;
constexpr int kDeviceCapability = 0x10;
constexpr double kFastestMbps = 20000;  // Gen 2x2; what lies above is not a USB 3 speed
constexpr std::size_t kContainerIdOffset = 4;

/// A capability: what it is called and the fewest bytes that it may have.
struct Capability {
  int type;
  std::string_view name;
  std::size_t least_bytes;
};

constexpr int kUsb2Extension = 0x02;
constexpr int kSuperSpeed = 0x03;
constexpr int kContainer = 0x04;
constexpr int kPlatform = 0x05;
constexpr int kSuperSpeedPlus = 0x0a;
constexpr int kBillboard = 0x0d;

constexpr auto kCapabilities = std::to_array<Capability>({
    {0x01, "wireless USB", 3},
    {kUsb2Extension, "USB 2.0 extension", 7},
    {kSuperSpeed, "SuperSpeed", 10},
    {kContainer, "container", 20},
    {kPlatform, "platform", 20},
    {0x06, "power delivery", 3},
    {0x07, "battery", 3},
    {0x08, "power consumer port", 3},
    {0x09, "power provider port", 3},
    {kSuperSpeedPlus, "SuperSpeedPlus", 16},
    {0x0b, "precision time measurement", 3},
    {0x0c, "wireless USB extension", 3},
    {kBillboard, "billboard", 44},
    {0x0e, "authentication", 3},
    {0x0f, "billboard extension", 3},
    {0x10, "configuration summary", 3},
});

/// One sublink speed: mantissa and an exponent of 1000 (b/s, kb/s, Mb/s, Gb/s) per lane.
double SublinkMbps(std::uint32_t attribute) {
  const double mantissa = static_cast<double>(attribute >> 16U);
  switch ((attribute >> 4U) & 3U) {
    case 0:
      return mantissa / 1e6;
    case 1:
      return mantissa / 1e3;
    case 2:
      return mantissa;
    default:
      return mantissa * 1e3;
  }
}

UsbSuperSpeedPlus ReadSuperSpeedPlus(Bytes bytes) {
  UsbSuperSpeedPlus read;
  const std::uint16_t support = Le16(bytes, 8);
  read.least_sublink = support & 0xf;
  read.least_rx_lanes = (support >> 8) & 0xf;
  read.least_tx_lanes = (support >> 12) & 0xf;
  const std::size_t count = (Le32(bytes, 4) & 0x1fU) + 1;
  for (std::size_t i = 0; i < count && 12 + 4 * i + 4 <= bytes.size(); ++i) {
    const std::uint32_t attribute = Le32(bytes, 12 + 4 * i);
    read.sublinks.push_back({static_cast<int>(attribute & 0xfU), SublinkMbps(attribute),
                             (attribute & 0x40U) != 0, (attribute & 0x80U) != 0,
                             ((attribute >> 14U) & 3U) == 1});
  }
  return read;
}

/// Most of a lane, times the lanes that it needs; none where that is not a USB 3 speed.
std::optional<double> MostMbps(const UsbSuperSpeedPlus& plus) {
  double fastest = 0;
  for (const UsbSublink& sublink : plus.sublinks) {
    fastest = std::max(fastest, sublink.mbps);
  }
  if (fastest < 5000 || fastest > kFastestMbps) {
    return std::nullopt;
  }
  // Full function may need several lanes; whether more are there is told by the link alone.
  const int lanes = std::max(1, std::min(plus.least_rx_lanes, plus.least_tx_lanes));
  return std::min(fastest * lanes, kFastestMbps);
}

UsbBillboard ReadBillboard(Bytes bytes) {
  constexpr std::size_t kStates = 8;  // two bits for each alternate mode
  constexpr std::size_t kStateBytes = 32;
  UsbBillboard read;
  read.alternate_modes = Le8(bytes, 4);
  const std::size_t count = std::min<std::size_t>(Le8(bytes, 4), kStateBytes * 4);
  for (std::size_t i = 0; i < count; ++i) {
    const unsigned state = (Le8(bytes, kStates + i / 4) >> (2 * (i % 4))) & 3U;
    read.failed += state == 2 || state == 0 ? 1 : 0;  // without success, or an error unnamed
    read.not_tried += state == 1 ? 1 : 0;
  }
  return read;
}

/// Builds UsbBos from the capabilities in their order.
class BosReader {
 public:
  UsbBos Run(Bytes bytes);

 private:
  void TakeCapability(const RawDescriptor& found);
  void Interpret(Bytes bytes, const Capability& capability);
  void TakeSpeed(std::optional<double> mbps) {
    if (mbps) {
      bos_.super_speed_mbps = std::max(*mbps, bos_.super_speed_mbps.value_or(0));
    }
  }
  void Fault(std::string what) {
    if (bos_.fault.empty()) {
      bos_.fault = std::move(what);
    }
  }

  UsbBos bos_;
};

UsbBos BosReader::Run(Bytes bytes) {
  DescriptorWalk walk(bytes);
  std::size_t claimed = 0;
  std::size_t there = 0;
  while (const auto found = walk.Next()) {
    if (found->type == kBos) {
      claimed = Le8(found->bytes, 4);
      if (Le16(found->bytes, 2) > bytes.size()) {
        Fault("the BOS is cut off");
      }
    } else if (found->type == kDeviceCapability) {
      ++there;
      TakeCapability(*found);
    }
  }
  if (!walk.fault().empty()) {
    bos_.fault = walk.fault();
  } else if (bytes.empty()) {
    Fault("the BOS is empty");
  } else if (there < claimed) {
    Fault(fmt::format("the BOS counts {} capabilities, {} are there", claimed, there));
  }
  return std::move(bos_);
}

void BosReader::TakeCapability(const RawDescriptor& found) {
  if (found.bytes.size() < 3) {
    return Fault(
        fmt::format("the capability at byte {} is too short to have a kind", found.offset));
  }
  const int type = Le8(found.bytes, 2);
  const auto* known = std::ranges::find(kCapabilities, type, &Capability::type);
  if (known == kCapabilities.end()) {
    bos_.capabilities.push_back(fmt::format("capability 0x{:02x}", type));
  } else if (found.bytes.size() < known->least_bytes) {
    Fault(fmt::format("the capability '{}' at byte {} is too short", known->name, found.offset));
  } else {
    bos_.capabilities.emplace_back(known->name);
    Interpret(found.bytes, *known);
  }
}

void BosReader::Interpret(Bytes bytes, const Capability& capability) {
  switch (capability.type) {
    case kUsb2Extension:
      bos_.power_saving =
          UsbPowerSaving{(Le8(bytes, 3) & 0x02U) != 0, (Le8(bytes, 3) & 0x04U) != 0};
      return;
    case kSuperSpeed:
      bos_.super_speed =
          UsbSuperSpeed{Le16(bytes, 4) & 0x0f, Le8(bytes, 6), Le8(bytes, 7), Le16(bytes, 8)};
      TakeSpeed((Le16(bytes, 4) & 0x08U) != 0 ? std::optional(5000.0) : std::nullopt);
      return;
    case kSuperSpeedPlus:
      bos_.super_speed_plus = ReadSuperSpeedPlus(bytes);
      TakeSpeed(MostMbps(*bos_.super_speed_plus));
      return;
    case kPlatform:
      bos_.capabilities.back() += " " + GuidText(bytes.subspan(4, 16));
      return;
    case kBillboard:
      bos_.billboard = ReadBillboard(bytes);
      return;
    default:
      return;
  }
}

}  // namespace

UsbBos ParseBos(Bytes bytes) {
  return BosReader().Run(bytes);
}

std::string WithoutContainerIds(std::string bytes) {
  const Bytes view(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
  std::vector<std::pair<std::size_t, std::size_t>> places;
  DescriptorWalk walk(view);
  while (const auto found = walk.Next()) {
    if (found->type == kDeviceCapability && Le8(found->bytes, 2) == kContainer &&
        found->bytes.size() > kContainerIdOffset) {
      places.emplace_back(found->offset + kContainerIdOffset,
                          found->bytes.size() - kContainerIdOffset);
    }
  }
  if (!walk.fault().empty()) {
    bytes.resize(walk.offset());  // what cannot be walked may hold such a number, too
  }
  for (const auto& [offset, length] : places) {
    bytes.replace(offset, length, length, '\0');
  }
  return bytes;
}

base::Reading<double> BestUsbSpeed(double speed_mbps, int bcd_usb,
                                   const std::optional<UsbBos>& bos) {
  using Speed = base::Reading<double>;
  if (!(speed_mbps > 0)) {
    return Speed::Unknown("the link's speed is not known");
  }
  if (bos && bos->super_speed_mbps) {
    return std::max(*bos->super_speed_mbps, speed_mbps);
  }
  if (bcd_usb >= 0x0300) {
    return std::max(5000.0, speed_mbps);
  }
  if (speed_mbps >= 480) {
    // From 2.01 on a device has a BOS, and there a USB 3 device on a USB 2 port says so.
    const bool silent = bcd_usb > 0x0200 && speed_mbps < 5000 && !bos;
    return silent ? Speed::Unknown("its list of capabilities (BOS) cannot be read")
                  : Speed(speed_mbps);
  }
  if (speed_mbps >= 12 && bcd_usb >= 0x0200) {
    return Speed::Unknown("a full-speed device of USB 2 may or may not be capable of high speed");
  }
  return speed_mbps;
}

}  // namespace probes
