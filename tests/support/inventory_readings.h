// SPDX-License-Identifier: Apache-2.0
//
// Visits the readings of an inventory, for tests that replace them all.

#pragma once

#include <string>
#include <type_traits>
#include <vector>

#include "base/reading.h"
#include "probes/data/inventory.h"

namespace report {

template <typename Visit>
void ForEachCpuReading(probes::CpuInventory& cpu, Visit visit) {
  const auto all = [&](auto&... readings) { (visit(readings), ...); };
  all(cpu.model, cpu.packages, cpu.cores, cpu.threads, cpu.numa_nodes, cpu.min_khz, cpu.max_khz,
      cpu.frequency_driver, cpu.governor, cpu.energy_preference, cpu.boost_enabled,
      cpu.throttle_events, cpu.hypervisor, cpu.usable_cpus, cpu.memory_bytes,
      cpu.memory_available_bytes, cpu.swap_bytes);
  for (probes::CoreKind& kind : cpu.kinds) {
    all(kind.max_khz);
  }
}

template <typename Visit>
void ForEachDeviceReading(probes::Inventory& machine, Visit visit) {
  const auto all = [&](auto&... readings) { (visit(readings), ...); };
  all(machine.pci.present, machine.gpu.present, machine.codecs.tried, machine.usb.present);
  for (auto* devices :
       {&machine.pci.functions, &machine.gpu.adapters, &machine.gpu.capture_cards}) {
    for (probes::PciDevice& device : *devices) {
      all(device.driver, device.link.speed_gts, device.link.width, device.link.best_speed_gts,
          device.link.best_width, device.power_control, device.link_sleep);
    }
  }
  for (probes::Display& display : machine.gpu.displays) {
    all(display.mode);
  }
  for (probes::CodecTrial& trial : machine.codecs.trials) {
    all(trial.sessions);
  }
  for (probes::UsbController& controller : machine.usb.controllers) {
    all(controller.driver);
  }
  for (probes::UsbDevice& device : machine.usb.devices) {
    all(device.best_speed_mbps, device.max_power_ma, device.self_powered, device.power_control);
  }
}

template <typename Visit>
void ForEachPlaceReading(probes::Inventory& machine, Visit visit) {
  const auto all = [&](auto&... readings) { (visit(readings), ...); };
  for (probes::StorageInventory& storage : machine.storage) {
    all(storage.mount_point, storage.filesystem, storage.filesystem_id, storage.mount_options,
        storage.size_bytes, storage.free_bytes, storage.largest_file_bytes, storage.writable);
    for (probes::BlockLayer& layer : storage.layers) {
      all(layer.transport, layer.rotational, layer.size_bytes);
    }
  }
  all(machine.network.routes);
  for (probes::ResolvedHost& host : machine.network.resolved) {
    all(host.address);
  }
  for (probes::NetworkLink& link : machine.network.links) {
    all(link.up, link.wireless, link.speed_mbps, link.duplex, link.driver, link.receive_errors,
        link.receive_drops, link.transmit_errors, link.transmit_drops);
  }
  probes::SettingsInventory& settings = machine.settings;
  all(settings.os, settings.kernel, settings.on_mains, settings.has_battery, settings.power_profile,
      settings.pcie_power_saving, settings.clock_synchronised, settings.file_watchers,
      settings.tuning_profile.value, settings.sleep_states, settings.sleep_target.value,
      settings.idle_action.value, settings.lid_action.value, settings.has_lid, settings.swap_areas,
      settings.swappiness, settings.clock_keepers, settings.work_timers, settings.idle_states);
}

/// Calls `visit` with every reading, whatever its type.
template <typename Visit>
void ForEachReading(probes::Inventory& machine, Visit visit) {
  ForEachCpuReading(machine.cpu, visit);
  ForEachDeviceReading(machine, visit);
  ForEachPlaceReading(machine, visit);
}

/// Calls `visit` with every reading of a text, and puts texts into lists of them.
template <typename Visit>
void ForEachTextReading(probes::Inventory& machine, Visit visit) {
  ForEachReading(machine, [&]<typename T>(base::Reading<T>& reading) {
    if constexpr (std::is_same_v<T, std::string>) {
      visit(reading);
    } else if constexpr (std::is_same_v<T, std::vector<std::string>>) {
      base::Reading<std::string> one;
      visit(one);
      reading = std::vector<std::string>{*one};
    }
  });
}

}  // namespace report
