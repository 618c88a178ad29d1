// SPDX-License-Identifier: Apache-2.0
//
// The USB tree: controllers, root hubs, hubs, devices, interfaces, endpoints, picture modes.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

enum class TransferType { kControl, kIsochronous, kBulk, kInterrupt };

struct UsbEndpoint {
  int address = 0;  // with the direction bit 0x80
  TransferType type = TransferType::kControl;
  int max_packet_bytes = 0;      // payload of one packet
  int packets_per_interval = 1;  // high-bandwidth (1..3), or burst x mult
  int interval = 0;              // bInterval as written
  int bytes_per_interval = 0;    // what one service interval can carry; 0 for control and bulk
};

/// One alternate setting of one interface.
struct UsbInterface {
  int number = 0;
  int alternate = 0;
  int interface_class = 0;
  int subclass = 0;
  int protocol = 0;
  base::Reading<std::string> driver;  // "" = read, and none is bound
  std::vector<UsbEndpoint> endpoints;
};

/// One raster at one format that a UVC device offers.
struct CaptureMode {
  std::string
      pixel_format;  // ours: yuyv422, uyvy422, nv12, mjpeg, h264 ..., or the raw GUID/fourcc
  int width = 0;
  int height = 0;
  int bits_per_pixel = 0;  // 0 for compressed formats
  // Frame intervals offered, shortest first; of a continuous range both ends.
  std::vector<std::int64_t> intervals_100ns;
};

enum class UsbRole { kHub, kCapture, kAudio, kStorage, kNetwork, kInput, kOther };

struct UsbDevice {
  std::string path;    // kernel's name: "usb2", "2-1", "2-1.4"
  std::string parent;  // path of the hub above; empty for a root hub
  int bus = 0;
  int port = 0;  // on the parent; 0 for a root hub
  int vendor_id = 0;
  int product_id = 0;
  std::string vendor;  // names as text: the device's own, else the database's
  std::string product;
  std::string usb_version;                // bcdUSB, "3.20"
  double speed_mbps = 0;                  // negotiated; 1.5, 12, 480, 5000, 10000, 20000
  base::Reading<double> best_speed_mbps;  // most the device itself can, from its descriptors
  base::Reading<int> max_power_ma;
  base::Reading<bool> self_powered;
  base::Reading<std::string> power_control;  // "on", or "auto" = may be suspended
  base::Reading<std::string> removable;      // "removable", "fixed", or the kernel's "unknown"
  UsbRole role = UsbRole::kOther;
  int ports = 0;             // of a hub
  std::string physical_hub;  // same text on the USB 2 and USB 3 halves of one hub
  std::vector<UsbInterface> interfaces;
  std::vector<CaptureMode> modes;
  std::vector<std::string> video_nodes;  // "video0"; two per device are normal
  std::string descriptor_fault;          // why its descriptors could not be read whole; else empty
};

/// One host controller with the root hubs (buses) that it drives.
struct UsbController {
  std::string address;  // PCI address "0000:00:14.0", or the platform device's name
  std::string name;
  base::Reading<std::string> driver;  // "" = read, and none is bound
  std::vector<int> buses;
};

struct UsbInventory {
  base::Reading<bool> present;  // false: read, and there is no USB here
  std::vector<UsbController> controllers;
  std::vector<UsbDevice> devices;  // parents before children
};

}  // namespace probes
