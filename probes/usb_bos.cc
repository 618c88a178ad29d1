#include "probes/usb_bos.h"

#include <algorithm>

#include "probes/usb_descriptor_walk.h"

namespace probes {
namespace {

constexpr int kBos = 0x0f;
constexpr int kDeviceCapability = 0x10;
constexpr int kSuperSpeed = 0x03;
constexpr int kSuperSpeedPlus = 0x0a;
constexpr double kFastestMbps = 20000;  // Gen 2x2; what lies above is not a USB 3 speed

/// One sublink speed: mantissa and an exponent of 1000 (b/s, kb/s, Mb/s, Gb/s) per lane.
double SublinkMbps(std::uint32_t attribute) {
  double mbps = static_cast<double>(attribute >> 16U);
  switch ((attribute >> 4U) & 3U) {
    case 0:
      return mbps / 1e6;
    case 1:
      return mbps / 1e3;
    case 2:
      return mbps;
    default:
      return mbps * 1e3;
  }
}

std::optional<double> SuperSpeedPlusMbps(Bytes bytes) {
  if (bytes.size() < 12) {
    return std::nullopt;
  }
  const std::size_t count = (Le32(bytes, 4) & 0x1fU) + 1;
  // Full function may need several lanes; whether more are there is told by the link alone.
  const std::uint16_t support = Le16(bytes, 8);
  const int lanes = std::max(1, std::min((support >> 8) & 0xf, (support >> 12) & 0xf));
  double fastest = 0;
  for (std::size_t i = 0; i < count && 12 + 4 * i + 4 <= bytes.size(); ++i) {
    fastest = std::max(fastest, SublinkMbps(Le32(bytes, 12 + 4 * i)));
  }
  if (fastest < 5000 || fastest > kFastestMbps) {
    return std::nullopt;
  }
  return std::min(fastest * lanes, kFastestMbps);
}

}  // namespace

UsbBos ParseBos(Bytes bytes) {
  UsbBos bos;
  DescriptorWalk walk(bytes);
  while (const auto found = walk.Next()) {
    if (found->type == kBos && Le16(found->bytes, 2) > bytes.size() && bos.fault.empty()) {
      bos.fault = "the BOS is cut off";
    }
    if (found->type != kDeviceCapability) {
      continue;
    }
    std::optional<double> mbps;
    const int capability = Le8(found->bytes, 2);
    if (capability == kSuperSpeed && (Le16(found->bytes, 4) & 0x08U) != 0) {
      mbps = 5000;
    } else if (capability == kSuperSpeedPlus) {
      mbps = SuperSpeedPlusMbps(found->bytes);
    }
    if (mbps) {
      bos.super_speed_mbps = std::max(*mbps, bos.super_speed_mbps.value_or(0));
    }
  }
  if (!walk.fault().empty()) {
    bos.fault = walk.fault();
  } else if (bytes.empty()) {
    bos.fault = "the BOS is empty";
  }
  return bos;
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
