// SPDX-License-Identifier: Apache-2.0
//
// PCI functions and their links, graphics adapters, capture cards, displays, and the codecs that
// were tried.

#pragma once

#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// A PCIe link now and at best; generations as GT/s (2.5, 5, 8, 16, 32).
struct PciLink {
  base::Reading<double> speed_gts;
  base::Reading<int> width;
  base::Reading<double> best_speed_gts;
  base::Reading<int> best_width;
  base::Reading<bool> none = {};  // true: the kernel shows its link files, and no link in them
};

struct PciDevice {
  std::string address;
  int class_code = 0;  // 24 bits: class, subclass, interface; 0: none, or not read
  int vendor_id = 0;
  int device_id = 0;
  std::string name;                   // vendor and device, from the system's database
  base::Reading<std::string> driver;  // "" = read, and none is bound
  // The link above it; of a root port and of a switch's downstream port the one below.
  PciLink link;
  std::string parent;  // address of the PCI function above; empty at the root complex
  base::Reading<std::string> power_control;             // "on", or "auto" = may be suspended
  base::Reading<std::vector<std::string>> video_nodes;  // "video0", of the function itself
  base::Reading<std::string> link_sleep;  // ASPM states on its link, "L0s, L1"; "" = none is on
};

/// Whether a class says nothing of what a card does: base class 00 (before classes were defined),
/// 11 (signal processing), 12 (accelerators) and ff (none of these; PCI Code and ID Assignment
/// Specification 1.11). Cards that take in pictures have been built with each.
inline bool TellsNoPurpose(int class_code) {
  const int base_class = class_code >> 16;
  return base_class == 0x00 || base_class == 0x11 || base_class == 0x12 || base_class == 0xff;
}

/// What shares links with capture: bridges, functions for storage, network, pictures and USB,
/// what has video nodes and what has a class that tells nothing, in the order of addresses.
struct PciInventory {
  base::Reading<bool> present;  // false: read, and there is no PCI here
  std::vector<PciDevice> functions;
};

struct Display {
  std::string connector;  // "HDMI-A-1"
  base::Reading<bool> connected;
  base::Reading<std::string> mode;         // "1920x1080", the first one listed
  base::Reading<std::string> name = {};    // as the display calls itself
  base::Reading<std::string> raster = {};  // that the display prefers, "3840x2160"
  base::Reading<double> refresh_hz = {};   // of that raster
};

struct GpuInventory {
  base::Reading<bool> present;
  std::vector<PciDevice> adapters;
  std::vector<PciDevice> capture_cards;   // of a class for video, or with a video node
  std::vector<Display> displays;          // every connector that a display driver offers
  base::Reading<int> connected_displays;  // 0: read, and there is none
};

/// One FFmpeg encoder or decoder, opened and made to run on this PC.
struct CodecTrial {
  std::string name;   // FFmpeg's: "libx264", "h264_nvenc"
  std::string codec;  // "h264", "hevc", "av1", "mjpeg"
  bool encoder = true;
  bool hardware = false;
  bool works = false;
  std::string refusal;          // FFmpeg's own reason when it does not
  base::Reading<int> sessions;  // open at once; counted for hardware encoders only
  double seconds = 0;           // what the trial took
};

struct CodecInventory {
  base::Reading<bool> tried;  // unknown on a captured machine: nothing can be opened there
  std::string ffmpeg_version;
  std::vector<CodecTrial> trials;
};

}  // namespace probes
