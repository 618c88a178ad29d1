// SPDX-License-Identifier: Apache-2.0

#include "probes/take_inventory.h"

#include <array>
#include <chrono>
#include <exception>
#include <utility>

#include "base/text.h"
#include "probes/audio/sound.h"
#include "probes/board/board.h"
#include "probes/cpu/cpu.h"
#include "probes/line/captured_modes.h"
#include "probes/network/network.h"
#include "probes/network/resolve_host.h"
#include "probes/pci_gpu/gpu.h"
#include "probes/pci_gpu/pci.h"
#include "probes/settings/settings.h"
#include "probes/storage/disks.h"
#include "probes/storage/storage.h"
#include "probes/usb/tree.h"

namespace probes {
namespace {

using base::MachineRoot;

struct Probe {
  const char* name;
  void (*run)(const MachineRoot& root, const InventoryRequest& request, Inventory& inventory);
};

void RunCpu(const MachineRoot& root, const InventoryRequest& /*request*/, Inventory& inventory) {
  inventory.cpu = ReadCpu(root);
}

void RunBoard(const MachineRoot& root, const InventoryRequest& /*request*/, Inventory& inventory) {
  inventory.board = ReadBoard(root);
}

void RunPci(const MachineRoot& root, const InventoryRequest& /*request*/, Inventory& inventory) {
  inventory.pci = ReadPciInventory(root);
}

void RunGpu(const MachineRoot& root, const InventoryRequest& /*request*/, Inventory& inventory) {
  inventory.gpu = ReadGpu(root, inventory.pci);
}

void RunUsb(const MachineRoot& root, const InventoryRequest& request, Inventory& inventory) {
  inventory.usb = ReadUsb(root);
  if (request.ask_modes) {
    AddDriverModes(request.ask_modes, inventory.usb);
  } else if (root.live()) {
    AddDriverModes(AskVideoModes, inventory.usb);
  } else {
    AddCapturedModes(root.Read(kCapturedModesFile).value_or(""), inventory.usb);
  }
}

void RunCodecs(const MachineRoot& root, const InventoryRequest& request, Inventory& inventory) {
  if (root.live() && request.open_codecs) {
    inventory.codecs = request.open_codecs(request.stop);
    return;
  }
  inventory.codecs.tried = base::Reading<bool>::Unknown(
      root.live() ? "not opened (rigproof inventory --open-codecs opens each)"
                  : "a captured machine's encoders cannot be opened here");
}

void RunStorage(const MachineRoot& root, const InventoryRequest& request, Inventory& inventory) {
  for (const auto& folder : request.recording_folders) {
    inventory.storage.push_back(ReadStorage(root, folder));
  }
}

void RunDisks(const MachineRoot& root, const InventoryRequest& /*request*/, Inventory& inventory) {
  inventory.disks = ReadDisks(root);
}

void RunSound(const MachineRoot& root, const InventoryRequest& /*request*/, Inventory& inventory) {
  inventory.sound = ReadSound(root);
}

void RunNetwork(const MachineRoot& root, const InventoryRequest& request, Inventory& inventory) {
  inventory.network = ReadNetwork(root);
  for (const std::string& host : root.live() ? request.hosts : std::vector<std::string>()) {
    inventory.network.resolved.push_back(ResolveHost(host, request.stop));
  }
}

void RunSettings(const MachineRoot& root, const InventoryRequest& /*request*/,
                 Inventory& inventory) {
  inventory.settings = ReadSettings(root);
}

constexpr std::array kProbes{
    Probe{"board", RunBoard},     Probe{"disks", RunDisks},       Probe{"sound", RunSound},
    Probe{"cpu", RunCpu},         Probe{"pci", RunPci},           Probe{"gpu", RunGpu},
    Probe{"codecs", RunCodecs},   Probe{"usb", RunUsb},           Probe{"storage", RunStorage},
    Probe{"network", RunNetwork}, Probe{"settings", RunSettings},
};

}  // namespace

Inventory TakeInventory(const MachineRoot& root, const InventoryRequest& request) {
  Inventory inventory;
  inventory.live = root.live();
  inventory.machine_root = root.live() ? "/" : base::Printable(root.folder().filename().string());
  for (const Probe& probe : kProbes) {
    ProbeRun run;
    run.probe = probe.name;
    const auto start = std::chrono::steady_clock::now();
    try {
      probe.run(root, request, inventory);
    } catch (const std::exception& failure) {
      run.failure = base::Printable(failure.what());
    }
    run.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    inventory.runs.push_back(std::move(run));
  }
  return inventory;
}

}  // namespace probes
