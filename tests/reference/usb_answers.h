// SPDX-License-Identifier: Apache-2.0
//
// What general programs (usbutils, v4l-utils) printed about USB devices, as values.

#pragma once

#include <compare>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace tests {

/// One line of `lsusb -t` below a root hub: an interface of a device.
struct TreeLine {
  std::string path;  // "2-1.4"
  int interface = 0;
  std::string interface_class;  // "Video"
  std::string driver;           // "uvcvideo", "hub"
  int ports = 0;                // of a hub, else 0
  double speed_mbps = 0;

  auto operator<=>(const TreeLine&) const = default;
};

struct TreeAnswer {
  struct Root {
    int bus = 0;
    std::string driver;
    int ports = 0;
    double speed_mbps = 0;
    auto operator<=>(const Root&) const = default;
  };
  std::vector<Root> roots;
  std::vector<TreeLine> lines;
};

TreeAnswer ParseLsusbTree(std::string_view text);

/// One block of `usb-devices`.
struct DeviceAnswer {
  int bus = 0;
  int number = 0;  // on its bus, in the order in which devices were plugged in
  int port = 0;    // 0 for a root hub
  double speed_mbps = 0;
  int ports = 0;
  std::string version;
  int vendor_id = 0;
  int product_id = 0;
  std::string manufacturer;
  std::string product;
  int attributes = 0;
  int max_power_ma = 0;
  std::vector<std::string>
      interfaces;                      // "number class subclass protocol driver", in hex as printed
  std::vector<std::string> endpoints;  // "address attributes size" of the current settings
};

std::vector<DeviceAnswer> ParseUsbDevices(std::string_view text);

struct FrameAnswer {
  std::string format;  // GUID as text, or "mjpeg"
  int width = 0;
  int height = 0;
  std::vector<std::int64_t> intervals_100ns;
  std::int64_t min_bits_per_second = 0;
  std::int64_t max_bits_per_second = 0;
  std::int64_t max_frame_bytes = 0;

  auto operator<=>(const FrameAnswer&) const = default;
};

struct EndpointAnswer {
  int address = 0;
  std::string type;  // "Isochronous"
  int packets = 1;
  int packet_bytes = 0;
  int interval = 0;
  int max_burst = 0;
  int mult = 0;

  auto operator<=>(const EndpointAnswer&) const = default;
};

/// One device of `lsusb -v`.
struct DecodedDevice {
  int bus = 0;
  int number = 0;
  int vendor_id = 0;
  int product_id = 0;
  int formats = 0;
  std::vector<FrameAnswer> frames;
  std::vector<EndpointAnswer> endpoints;
  int interfaces = 0;  // alternate settings counted one by one
  int associations = 0;
};

std::vector<DecodedDevice> ParseLsusbVerbose(std::string_view text);

/// Whole file; empty when it cannot be read.
std::string ReadWhole(const std::filesystem::path& file);

/// Descriptors of a real device, and what `lsusb -v` prints for them.
struct StoredBlob {
  std::string name;
  std::string bytes;
  std::string lsusb;

  std::span<const std::uint8_t> Bytes() const {
    return {reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()};
  }
};
/// Those of the shared data; nothing where it is absent.
std::optional<std::vector<StoredBlob>> StoredBlobs();

}  // namespace tests
