// SPDX-License-Identifier: Apache-2.0
//
// Stored members of the inventory of one machine.

#pragma once

#include "probes/data/inventory.h"
#include "report/fields/fields.h"

namespace report::stored {

RIGPROOF_FIELDS(probes::CoreKind, name, cores, threads, max_khz, allowed_khz, base_khz,
                held_threads)
RIGPROOF_FIELDS(probes::CpuCache, level, type, size_bytes, count)
RIGPROOF_FIELDS(probes::CpuInventory, model, packages, cores, threads, numa_nodes, kinds, caches,
                min_khz, max_khz, frequency_driver, governor, energy_preference, boost_enabled,
                performance_limit, firmware_khz, throttle_events, hypervisor, usable_cpus,
                memory_bytes, memory_available_bytes, swap_bytes)

RIGPROOF_FIELDS(probes::PciLink, speed_gts, width, best_speed_gts, best_width, none)
RIGPROOF_FIELDS(probes::PciDevice, address, class_code, vendor_id, device_id, name, driver, link,
                parent, power_control, video_nodes, link_sleep)
RIGPROOF_FIELDS(probes::PciInventory, present, functions)
RIGPROOF_FIELDS(probes::Display, connector, connected, mode, name, raster, refresh_hz)
RIGPROOF_FIELDS(probes::GpuInventory, present, adapters, capture_cards, displays,
                connected_displays)
RIGPROOF_FIELDS(probes::CodecTrial, name, codec, encoder, hardware, works, refusal, sessions,
                seconds)
RIGPROOF_FIELDS(probes::CodecInventory, tried, ffmpeg_version, trials)

RIGPROOF_FIELDS(probes::UsbEndpoint, address, type, max_packet_bytes, packets_per_interval,
                interval, bytes_per_interval, max_burst, mult)
RIGPROOF_FIELDS(probes::UsbInterface, number, alternate, interface_class, subclass, protocol,
                driver, endpoints)
RIGPROOF_FIELDS(probes::CaptureMode, pixel_format, width, height, bits_per_pixel, intervals_100ns,
                interval_step_100ns, streaming_interface, max_frame_bytes, min_bits_per_second,
                max_bits_per_second)
RIGPROOF_FIELDS(probes::VideoFormat, index, kind, pixel_format, frames_claimed, frames, interlaced,
                colour, still_rasters)
RIGPROOF_FIELDS(probes::VideoStream, interface, endpoint, terminal, still_method, formats_claimed,
                formats)
RIGPROOF_FIELDS(probes::VideoEntity, id, kind, terminal_type, sources)
RIGPROOF_FIELDS(probes::VideoFunction, control_interface, uvc_version, entities, streams)
RIGPROOF_FIELDS(probes::UsbPort, number, connect_type, peer, over_current_count, panel)
RIGPROOF_FIELDS(probes::UsbDevice, path, parent, bus, port, vendor_id, product_id, vendor, product,
                usb_version, speed_mbps, lanes, best_speed_mbps, max_power_ma, self_powered,
                power_control, removable, protocol, role, ports, port_list, physical_hub,
                interfaces, modes, driver_modes, video_functions, capabilities, companions,
                video_nodes, descriptor_fault)
RIGPROOF_FIELDS(probes::UsbController, address, name, driver, buses)
RIGPROOF_FIELDS(probes::UsbInventory, present, controllers, devices, nodes_read)

RIGPROOF_FIELDS(probes::BlockLayer, name, kind, model, transport, rotational, size_bytes, usb_path,
                pci_address)
RIGPROOF_FIELDS(probes::StorageInventory, folder, mount_point, filesystem, filesystem_id,
                mount_options, size_bytes, free_bytes, largest_file_bytes, writable, layers,
                why_no_layers)
RIGPROOF_FIELDS(probes::DiskHealth, sound, temperature_c, wear_percent, spare_percent,
                powered_hours, written_bytes, media_errors)
RIGPROOF_FIELDS(probes::Disk, device, removable, health)
RIGPROOF_FIELDS(probes::DiskInventory, present, disks)
RIGPROOF_FIELDS(probes::NetworkLink, name, loopback, up, wireless, speed_mbps, duplex, driver,
                mtu_bytes, receive_errors, receive_drops, transmit_errors, transmit_drops, usb_path,
                pci_address, default_route, lower)
RIGPROOF_FIELDS(probes::NetworkRoute, destination, prefix_bits, metric, link)
RIGPROOF_FIELDS(probes::ResolvedHost, host, address)
RIGPROOF_FIELDS(probes::NetworkInventory, links, routes, resolved, why_unknown)

RIGPROOF_FIELDS(probes::FileWatcher, process, pid)
RIGPROOF_FIELDS(probes::ConfiguredChoice, value, file)
RIGPROOF_FIELDS(probes::SwapArea, name, kind, size_bytes, used_bytes, disks)
RIGPROOF_FIELDS(probes::WorkTimer, unit, work, when, delay, catches_up, idle, setting)
RIGPROOF_FIELDS(probes::ClockKeeper, name, file, running)
RIGPROOF_FIELDS(probes::CpuIdleState, name, exit_latency_us, disabled)
RIGPROOF_FIELDS(probes::SettingsInventory, os, kernel, on_mains, has_battery, power_profile,
                pcie_power_saving, clock_synchronised, file_watchers, tuning_profile, sleep_states,
                sleep_target, idle_action, lid_action, has_lid, swap_areas, swappiness,
                clock_keepers, work_timers, idle_states)

RIGPROOF_FIELDS(probes::MemoryModule, slot, bank, size_bytes, type, speed_mts, best_speed_mts,
                maker, part)
RIGPROOF_FIELDS(probes::BoardInventory, maker, model, board_maker, board_model, firmware_maker,
                firmware_version, firmware_date, memory, memory_channels, channels_by)
RIGPROOF_FIELDS(probes::SoundCard, number, id, name, inputs, outputs, usb_path, pci_address)
RIGPROOF_FIELDS(probes::SoundInventory, present, cards)
RIGPROOF_FIELDS(probes::ProbeRun, probe, seconds, failure)
RIGPROOF_FIELDS(probes::Inventory, live, machine_root, board, cpu, pci, gpu, codecs, usb, storage,
                disks, network, sound, settings, runs)

}  // namespace report::stored
