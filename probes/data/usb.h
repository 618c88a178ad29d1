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
  int max_burst = 0;             // bMaxBurst of the companion, as written; 0 where there is none
  int mult = 0;                  // Mult of the companion (isochronous), as written; 0 likewise
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
  std::int64_t interval_step_100ns = 0;  // of a continuous range; 0 = the intervals one by one
  int streaming_interface = -1;          // bInterfaceNumber of the VideoStreaming interface
  std::int64_t max_frame_bytes = 0;      // as the device writes them; 0 = not told
  std::int64_t min_bits_per_second = 0;
  std::int64_t max_bits_per_second = 0;
};

/// One payload format of a VideoStreaming interface, whether it has frames or not.
struct VideoFormat {
  int index = 0;     // bFormatIndex
  std::string kind;  // "uncompressed", "mjpeg", "frame based", "stream based", "mpeg2-ts" ...
  std::string pixel_format;  // as in CaptureMode; empty where the kind says all
  int frames_claimed = 0;    // bNumFrameDescriptors: often a lie
  int frames = 0;            // those that are there
  bool interlaced = false;
  std::string colour;  // "primaries / transfer / matrix" of its colour matching; empty = not told
  std::vector<std::string> still_rasters;  // "3840x2160"
};

/// One VideoStreaming interface.
struct VideoStream {
  int interface = 0;
  int endpoint = 0;         // address that carries the pictures; 0 = not told
  int terminal = 0;         // output terminal of the control interface that feeds it
  int still_method = 0;     // bStillCaptureMethod; 0 = none
  int formats_claimed = 0;  // bNumFormats
  std::vector<VideoFormat> formats;
};

/// A terminal or unit of a VideoControl interface.
struct VideoEntity {
  int id = 0;
  std::string kind;       // "camera", "input", "output", "selector", "processing", "extension" ...
  int terminal_type = 0;  // wTerminalType; 0 for units
  std::vector<int> sources;  // ids of what feeds it
};

/// A VideoControl interface and the streaming interfaces that it counts as its own.
struct VideoFunction {
  int control_interface = 0;
  std::string uvc_version;  // bcdUVC, "1.10"
  std::vector<VideoEntity> entities;
  std::vector<VideoStream> streams;
};

/// One port of a hub or root hub.
struct UsbPort {
  int number = 0;
  base::Reading<std::string> connect_type;  // "hotplug", "hardwired", "not used", "unknown"
  std::string peer;  // the other port of the same socket, "usb3:2" (hub:port); empty = none
  base::Reading<std::int64_t> over_current_count;
  base::Reading<std::string> panel;  // side of the case by the firmware: "back", "front" ...
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
  base::Reading<int> lanes;               // in the direction to the PC; 2 at Gen 1x2 and 2x2
  base::Reading<double> best_speed_mbps;  // most the device itself can, from its descriptors
  base::Reading<int> max_power_ma;
  base::Reading<bool> self_powered;
  base::Reading<std::string> power_control;  // "on", or "auto" = may be suspended
  base::Reading<std::string> removable;      // "removable", "fixed", or the kernel's "unknown"
  int protocol = 0;  // bDeviceProtocol; of hubs: 1 single TT, 2 multi TT, 3 SuperSpeed
  UsbRole role = UsbRole::kOther;
  int ports = 0;                   // of a hub
  std::vector<UsbPort> port_list;  // those that the kernel shows
  std::string physical_hub;        // same text on the USB 2 and USB 3 halves of one hub
  std::vector<UsbInterface> interfaces;
  std::vector<CaptureMode> modes;  // by its descriptors
  // What its driver offers of them, by asking its video nodes; unknown: none was asked, and why.
  base::Reading<std::vector<CaptureMode>> driver_modes;
  std::vector<VideoFunction> video_functions;
  std::vector<std::string> capabilities;  // of its BOS: "SuperSpeed", "billboard" ...
  base::Reading<bool> companions;         // SuperSpeed companions among its endpoints, at any speed
  std::vector<std::string> video_nodes;   // "video0"; two per device are normal
  std::string descriptor_fault;           // why its descriptors could not be read whole; else empty
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
  base::Reading<bool> nodes_read;  // the video nodes of this machine could be listed
};

}  // namespace probes
