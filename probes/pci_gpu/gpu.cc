// SPDX-License-Identifier: Apache-2.0

#include "probes/pci_gpu/gpu.h"

#include <string>
#include <utility>

#include "probes/pci_gpu/display.h"
#include "probes/pci_gpu/pci.h"

namespace probes {
namespace {

constexpr int kDisplayClass = 0x03;
constexpr int kMultimediaVideo = 0x0400;
constexpr int kMultimediaOther = 0x0480;

/// By its class, or because its driver made video nodes of it, whatever its class.
bool IsCaptureCard(const PciDevice& device) {
  const int subclass = device.class_code >> 8;
  return subclass == kMultimediaVideo || subclass == kMultimediaOther ||
         !device.video_nodes.value_or({}).empty();
}

/// Unknown where a connector that does not tell could make it more.
base::Reading<int> CountConnected(const std::vector<Display>& displays) {
  int connected = 0;
  for (const Display& display : displays) {
    if (!display.connected) {
      return base::Reading<int>::Unknown(display.connector + ": " +
                                         display.connected.why_unknown());
    }
    connected += *display.connected ? 1 : 0;
  }
  return connected;
}

}  // namespace

GpuInventory ReadGpu(const base::MachineRoot& root, const PciInventory& pci) {
  GpuInventory gpu;
  gpu.present = pci.present;
  if (pci.present.known()) {
    for (const PciDevice& device : pci.functions) {
      if (device.class_code >> 16 == kDisplayClass) {
        gpu.adapters.push_back(device);
      } else if (IsCaptureCard(device)) {
        gpu.capture_cards.push_back(device);
      }
    }
    gpu.present = !gpu.adapters.empty();
  }
  auto displays = ReadDisplays(root);
  if (displays) {
    gpu.displays = std::move(*displays);
    gpu.connected_displays = CountConnected(gpu.displays);
    if (!gpu.displays.empty()) {
      gpu.present = true;  // an adapter that is no PCI card
    }
  } else {
    gpu.connected_displays = base::Reading<int>(base::Result<int>(displays.error()));
    if (gpu.present.known() && !*gpu.present) {
      // Adapters that are no PCI cards show themselves there alone.
      gpu.present = base::Reading<bool>(base::Result<bool>(displays.error()));
    }
  }
  return gpu;
}

}  // namespace probes
