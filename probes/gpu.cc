// SPDX-License-Identifier: Apache-2.0

#include "probes/gpu.h"

#include <algorithm>
#include <string>
#include <utility>

#include "probes/display.h"
#include "probes/pci.h"

namespace probes {
namespace {

constexpr int kDisplayClass = 0x03;
constexpr int kMultimediaVideo = 0x0400;
constexpr int kMultimediaOther = 0x0480;

}  // namespace

GpuInventory ReadGpu(const base::MachineRoot& root, const PciInventory& pci) {
  GpuInventory gpu;
  gpu.present = pci.present;
  if (pci.present.known()) {
    for (const PciDevice& device : pci.functions) {
      const int subclass = device.class_code >> 8;
      if (device.class_code >> 16 == kDisplayClass) {
        gpu.adapters.push_back(device);
      } else if (subclass == kMultimediaVideo || subclass == kMultimediaOther) {
        gpu.capture_cards.push_back(device);
      }
    }
    gpu.present = !gpu.adapters.empty();
  }
  auto displays = ReadDisplays(root);
  if (displays) {
    gpu.displays = std::move(*displays);
    gpu.connected_displays = static_cast<int>(
        std::ranges::count_if(gpu.displays, [](const Display& d) { return d.connected; }));
    if (!gpu.displays.empty()) {
      gpu.present = true;  // an adapter that is no PCI card
    }
  } else {
    gpu.connected_displays = base::Reading<int>(base::Result<int>(displays.error()));
  }
  return gpu;
}

}  // namespace probes
