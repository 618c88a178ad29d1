// SPDX-License-Identifier: Apache-2.0
//
// Builders of evidence.

#include "tests/support/evidence_builder.h"

#include <algorithm>

#include "report/stored/older_result.h"

namespace report::testing {
namespace {

constexpr double kCameraBytesPerSecond = 1280.0 * 720 * 2 * 30;

void FillProfile(profiles::Profile& profile) {
  profile.name = "Invented talk";
  profile.duration_minutes = 60;
  profile.program_raster = {1280, 720};
  profile.program_rate = 30;
  profiles::Output recording;
  recording.name = "Recording";
  recording.takes = "program";
  recording.raster = {1280, 720};
  recording.bitrate_kbps = 6000;
  recording.container = "mkv";
  profile.outputs.push_back(recording);
  profiles::Output stream = recording;
  stream.name = "Stream";
  stream.kind = profiles::OutputKind::kStream;
  stream.container = "flv";
  stream.url = "loopback";
  profile.outputs.push_back(stream);
}

void FillDemand(profiles::Demand& demand) {
  profiles::OutputDemand recording;
  recording.name = "Recording";
  recording.disk_bytes_per_second = 800e3;
  recording.space_bytes = 800e3 * 3600;
  demand.outputs.push_back(recording);
  profiles::OutputDemand stream;
  stream.name = "Stream";
  stream.network_bits_per_second = 6.5e6;
  demand.outputs.push_back(stream);
  demand.disk_bytes_per_second = 800e3;
  demand.space_bytes = 800e3 * 3600;
  demand.largest_file_bytes = 800e3 * 3600;
  demand.network_out_bits_per_second = 6.5e6;
  demand.displays = 1;
  demand.memory_pool_bytes = 300e6;
}

void FillCpu(probes::CpuInventory& cpu) {
  cpu.threads = 4;
  cpu.usable_cpus = 4.0;
  cpu.frequency_driver = std::string("intel_pstate");
  cpu.governor = std::string("powersave");
  cpu.energy_preference = std::string("performance");
  cpu.hypervisor = std::string("none");
  cpu.memory_bytes = std::int64_t{16} << 30;
  cpu.memory_available_bytes = std::int64_t{8} << 30;
  cpu.swap_bytes = std::int64_t{0};
}

void FillUsb(probes::UsbInventory& usb) {
  usb.present = true;
  for (int i = 0; i < 2; ++i) {
    probes::UsbController controller;
    controller.address = i == 0 ? "0000:00:14.0" : "0000:02:00.0";
    controller.name = "Invented USB controller";
    controller.driver = std::string("xhci_hcd");
    controller.buses = {2 * i + 1, 2 * i + 2};
    usb.controllers.push_back(controller);
    usb.devices.push_back(RootHub(2 * i + 1, 480));
    usb.devices.push_back(RootHub(2 * i + 2, 5000));
  }
  usb.devices.push_back(Capture("2-1", "usb2", 2, 5000));
  usb.devices.push_back(Capture("4-1", "usb4", 4, 5000));
}

void FillStorage(probes::Inventory& machine) {
  probes::StorageInventory storage;
  storage.folder = "/recordings";
  storage.mount_point = std::string("/recordings");
  storage.filesystem = std::string("ext4");
  storage.size_bytes = std::int64_t{1'000'000'000'000};
  storage.free_bytes = std::int64_t{500'000'000'000};
  storage.largest_file_bytes = std::int64_t{16} << 40;
  storage.writable = true;
  probes::BlockLayer disk;
  disk.name = "nvme0n1";
  disk.kind = "disk";
  disk.transport = std::string("nvme");
  disk.rotational = false;
  storage.layers.push_back(disk);
  machine.storage.push_back(storage);
}

void FillRest(probes::Inventory& machine) {
  machine.machine_root = "/";
  machine.gpu.present = true;
  machine.gpu.displays.push_back({.connector = "HDMI-A-1", .connected = true, .mode = {}});
  machine.codecs.tried = true;
  machine.codecs.ffmpeg_version = "5.1";
  probes::CodecTrial x264;
  x264.name = "libx264";
  x264.codec = "h264";
  x264.works = true;
  machine.codecs.trials.push_back(x264);
  probes::NetworkLink link;
  link.name = "eth0";
  link.up = true;
  link.wireless = false;
  link.speed_mbps = 1000.0;
  link.duplex = std::string("full");
  link.default_route = true;
  link.receive_errors = std::int64_t{0};
  link.receive_drops = std::int64_t{0};
  machine.network.links.push_back(link);
  machine.settings.on_mains = true;
  machine.settings.power_profile = std::string("balanced");
  machine.settings.pcie_power_saving = std::string("default");
  machine.settings.clock_synchronised = true;
  machine.settings.file_watchers = std::vector<probes::FileWatcher>{};
}

void FillResults(bench::Results& results) {
  bench::Rehearsal rehearsal;
  rehearsal.complete = true;
  rehearsal.seconds = 70;
  rehearsal.warm_up_seconds = 10;
  rehearsal.cpu_seconds = 70;
  rehearsal.peak_resident_bytes = 310'000'000;
  for (const char* name : {"Recording", "Stream"}) {
    bench::OutputLedger output;
    output.name = name;
    output.due = 2100;
    output.delivered = 2100;
    rehearsal.outputs.push_back(output);
  }
  bench::FeedLedger feed;
  feed.name = "Camera 1";
  feed.due = 2100;
  feed.delivered = 2100;
  feed.seconds.resize(70);
  rehearsal.feeds.push_back(feed);
  results.rehearsal = rehearsal;
  bench::FlatOut flat_out;
  flat_out.complete = true;
  flat_out.seconds = 10;
  flat_out.speed = 2;
  results.flat_out = flat_out;
  bench::DiskRun disk;
  disk.folder = "/recordings";
  disk.method = "direct";
  disk.bytes = 2'000'000'000;
  disk.seconds = 10;
  disk.sustained_bytes_per_second = 200e6;
  disk.steady = true;
  results.disks.push_back(disk);
}

}  // namespace

probes::UsbDevice RootHub(int bus, double speed_mbps) {
  probes::UsbDevice device;
  device.path = "usb" + std::to_string(bus);
  device.bus = bus;
  device.speed_mbps = speed_mbps;
  device.role = probes::UsbRole::kHub;
  device.product = "Root hub";
  device.ports = 4;
  return device;
}

probes::UsbDevice Hub(const std::string& path, const std::string& parent, int bus,
                      double speed_mbps) {
  probes::UsbDevice device;
  device.path = path;
  device.parent = parent;
  device.bus = bus;
  device.port = 1;
  device.speed_mbps = speed_mbps;
  device.role = probes::UsbRole::kHub;
  device.product = "Invented hub";
  device.ports = 4;
  device.physical_hub = "hub at " + path;
  return device;
}

probes::UsbDevice Capture(const std::string& path, const std::string& parent, int bus,
                          double speed_mbps) {
  probes::UsbDevice device;
  device.path = path;
  device.parent = parent;
  device.bus = bus;
  device.port = 1;
  device.speed_mbps = speed_mbps;
  device.best_speed_mbps = speed_mbps;
  device.max_power_ma = 400;
  device.power_control = std::string("on");
  device.role = probes::UsbRole::kCapture;
  device.product = "Invented capture " + path;
  // Settings as devices have them: some that hold little, and one that holds most.
  const std::vector<int> settings = speed_mbps >= 5000
                                        ? std::vector<int>{8192, 16384, 24576, 32768, 49152}
                                        : std::vector<int>{3072};
  for (const int bytes : settings) {
    probes::UsbEndpoint endpoint;
    endpoint.address = 0x81;
    endpoint.type = probes::TransferType::kIsochronous;
    endpoint.max_packet_bytes = 1024;
    endpoint.interval = 1;
    endpoint.bytes_per_interval = bytes;
    probes::UsbInterface streaming;
    streaming.number = 1;
    streaming.alternate = static_cast<int>(device.interfaces.size()) + 1;
    streaming.interface_class = 0x0e;
    streaming.subclass = 2;
    streaming.endpoints.push_back(endpoint);
    device.interfaces.push_back(streaming);
  }
  device.modes.push_back({.pixel_format = "yuyv422",
                          .width = 1280,
                          .height = 720,
                          .bits_per_pixel = 16,
                          .intervals_100ns = {333333}});
  return device;
}

void AddSource(Evidence& evidence, const std::string& name, double bytes_per_second) {
  profiles::Source source;
  source.name = name;
  source.raster = {1280, 720};
  source.rate = 30;
  source.pixel_format = "yuyv422";
  evidence.profile.sources.push_back(source);
  profiles::SourceDemand demand;
  demand.name = name;
  demand.bytes_per_second = bytes_per_second;
  evidence.demand.sources.push_back(demand);
}

void PutBehindOneHub(Evidence& evidence, int count) {
  auto& devices = evidence.inventory.usb.devices;
  devices.erase(
      std::remove_if(devices.begin(), devices.end(),
                     [](const auto& one) { return one.role == probes::UsbRole::kCapture; }),
      devices.end());
  devices.push_back(Hub("2-1", "usb2", 2, 5000));
  for (int i = 1; i <= count; ++i) {
    devices.push_back(Capture("2-1." + std::to_string(i), "2-1", 2, 5000));
    devices.back().port = i;
  }
}

bench::CostEntry Cost(bench::Stage stage, const std::string& detail, double cpu_ms) {
  return {stage, detail, cpu_ms, cpu_ms, 100, stored::SubjectOfDetail(stage, detail)};
}

void Drop(Evidence& evidence, std::int64_t frames, double at_s, bench::Stage stage) {
  bench::Rehearsal& rehearsal = *evidence.results.rehearsal;
  rehearsal.outputs.front().dropped += frames;
  rehearsal.outputs.front().delivered -= frames;
  if (at_s < rehearsal.warm_up_seconds) {
    rehearsal.outputs.front().warm_up_dropped += frames;
  }
  rehearsal.drops.push_back({.output = "Recording",
                             .at_s = at_s,
                             .frames = frames,
                             .stage = stage,
                             .cause = "not known"});
}

Evidence GoodEvidence() {
  Evidence evidence;
  evidence.started_at = "2026-01-01T00:00:00Z";
  evidence.length = "quick";
  evidence.program_version = "test";
  evidence.command = "rigproof qualify two-camera-talk";
  FillProfile(evidence.profile);
  FillDemand(evidence.demand);
  AddSource(evidence, "Camera 1", kCameraBytesPerSecond);
  AddSource(evidence, "Camera 2", kCameraBytesPerSecond);
  FillCpu(evidence.inventory.cpu);
  FillUsb(evidence.inventory.usb);
  FillStorage(evidence.inventory);
  FillRest(evidence.inventory);
  FillResults(evidence.results);
  probes::TelemetryRecord telemetry;
  telemetry.period_s = 1;
  for (int second = 1; second <= 70; ++second) {
    probes::TelemetrySample sample;
    sample.at_s = second;
    sample.own_cpus = 1;
    sample.busy_cpus = 1.1;
    sample.steal_cpus = 0;
    telemetry.samples.push_back(sample);
  }
  evidence.telemetry = telemetry;
  return evidence;
}

const Finding* Find(const Document& document, const std::string& id) {
  const auto found = std::find_if(document.findings.begin(), document.findings.end(),
                                  [&](const Finding& finding) { return finding.id == id; });
  return found == document.findings.end() ? nullptr : &*found;
}

const Headroom* Row(const Document& document, const std::string& resource) {
  const auto found =
      std::find_if(document.headroom.begin(), document.headroom.end(),
                   [&](const Headroom& row) { return base::WordOf(row.resource) == resource; });
  return found == document.headroom.end() ? nullptr : &*found;
}

}  // namespace report::testing
