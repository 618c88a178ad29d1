// SPDX-License-Identifier: Apache-2.0
//
// The invented machine of the sample Document, and what was made of it.

#include "tests/support/sample_machine.h"

#include <algorithm>
#include <utility>

namespace report {

namespace {

using base::Reading;

probes::CpuInventory SampleCpu() {
  probes::CpuInventory cpu;
  cpu.model = std::string("Invented Eight, 3.4 GHz");
  cpu.packages = 1;
  cpu.cores = 4;
  cpu.threads = 8;
  cpu.numa_nodes = 1;
  cpu.kinds = {{"performance", 4, 8, std::int64_t{4'600'000}}};
  cpu.caches = {{1, "data", 49152, 4}, {2, "unified", 1310720, 4}, {3, "unified", 16777216, 1}};
  cpu.min_khz = std::int64_t{800'000};
  cpu.max_khz = std::int64_t{4'600'000};
  cpu.frequency_driver = std::string("acpi-cpufreq");
  cpu.governor = std::string("powersave");
  cpu.energy_preference = Reading<std::string>::Unknown("the driver has no such setting");
  cpu.boost_enabled = true;
  cpu.throttle_events = std::int64_t{14};
  cpu.hypervisor = std::string("none");
  cpu.usable_cpus = 8.0;
  cpu.memory_bytes = std::int64_t{16'700'000'000};
  cpu.memory_available_bytes = std::int64_t{11'200'000'000};
  cpu.swap_bytes = std::int64_t{0};
  return cpu;
}

probes::GpuInventory SampleGpu() {
  probes::GpuInventory gpu;
  gpu.present = true;
  probes::PciDevice adapter;
  adapter.address = "0000:01:00.0";
  adapter.name = "Invented graphics adapter";
  adapter.driver = std::string("invented-drm");
  adapter.link = {8.0, 4, 8.0, 16};
  gpu.adapters = {adapter};
  probes::PciDevice card = adapter;
  card.address = "0000:03:00.0";
  card.name = "Invented Quad capture card";
  card.driver = Reading<std::string>::Unknown("no driver is bound");
  gpu.capture_cards = {card};
  gpu.displays = {{"HDMI-A-1", true, std::string("1920x1080")}, {"DP-1", false, {}}};
  return gpu;
}

probes::CodecInventory SampleCodecs() {
  probes::CodecInventory codecs;
  codecs.tried = true;
  codecs.ffmpeg_version = "5.1.8";
  codecs.trials = {
      {"libx264", "h264", true, false, true, "", {}, 0.08},
      {"h264_vaapi",
       "h264",
       true,
       true,
       false,
       "Failed to initialise VAAPI connection: -1 (unknown libva error)",
       {},
       0.01},
      {"h264", "h264", false, false, true, "", {}, 0.02},
  };
  return codecs;
}

probes::UsbDevice UsbAt(const std::string& path, const std::string& parent,
                        const std::string& product, double mbps, probes::UsbRole role) {
  probes::UsbDevice device;
  device.path = path;
  device.parent = parent;
  device.vendor = "Invented Works";
  device.product = product;
  device.usb_version = "3.20";
  device.speed_mbps = mbps;
  device.best_speed_mbps = role == probes::UsbRole::kCapture ? 5000.0 : mbps;
  device.power_control = std::string(role == probes::UsbRole::kCapture ? "auto" : "on");
  device.role = role;
  return device;
}

probes::UsbInventory SampleUsb() {
  using probes::UsbRole;
  probes::UsbInventory usb;
  usb.present = true;
  usb.controllers = {{"0000:00:14.0", "Invented USB controller", std::string("xhci_hcd"), {1, 2}}};
  usb.devices = {UsbAt("usb2", "", "root hub", 10000, UsbRole::kHub),
                 UsbAt("2-1", "usb2", "Desk hub", 5000, UsbRole::kHub),
                 UsbAt("2-1.1", "2-1", "Capture One", 5000, UsbRole::kCapture),
                 UsbAt("2-1.2", "2-1", "Capture Two", 5000, UsbRole::kCapture),
                 UsbAt("1-3", "usb1", "Capture Three", 480, UsbRole::kCapture)};
  usb.devices.back().descriptor_fault = "interface descriptor ends after 5 of 9 bytes";
  return usb;
}

std::vector<probes::StorageInventory> SampleStorage() {
  probes::StorageInventory storage;
  storage.folder = "/takes";
  storage.mount_point = std::string("/takes");
  storage.filesystem = std::string("ext4");
  storage.mount_options = std::vector<std::string>{"rw", "relatime"};
  storage.size_bytes = std::int64_t{512'000'000'000};
  storage.free_bytes = std::int64_t{231'000'000'000};
  storage.largest_file_bytes = std::int64_t{17'592'186'044'416};
  storage.writable = true;
  storage.layers = {{"dm-0", "crypt", "", Reading<std::string>::Unknown("a layer has none"), false,
                     std::int64_t{512'000'000'000}, "", ""},
                    {"nvme0n1", "disk", "Invented 512", std::string("nvme"), false,
                     std::int64_t{512'110'190'592}, "", "0000:02:00.0"}};
  return {storage};
}

probes::PciInventory SamplePci() {
  probes::PciInventory pci;
  pci.present = true;
  for (const char* address : {"0000:00:1c.0", "0000:02:00.0"}) {
    const bool port = pci.functions.empty();
    probes::PciDevice function;
    function.address = address;
    function.class_code = port ? 0x060400 : 0x010802;
    function.name = port ? "Invented root port" : "Invented disk controller";
    function.parent = port ? "" : "0000:00:1c.0";
    function.link.speed_gts = function.link.best_speed_gts = 8.0;
    function.link.width = port ? 4 : 2;
    function.link.best_width = 4;
    pci.functions.push_back(function);
  }
  return pci;
}

probes::NetworkInventory SampleNetwork() {
  probes::NetworkLink link;
  link.name = "enp4s0";
  link.up = true;
  link.wireless = false;
  link.speed_mbps = 1000.0;
  link.duplex = std::string("full");
  link.driver = std::string("invented-net");
  link.receive_errors = std::int64_t{0};
  link.receive_drops = std::int64_t{12};
  link.transmit_errors = std::int64_t{0};
  link.transmit_drops = Reading<std::int64_t>::Unknown("counter is missing");
  link.default_route = true;
  probes::NetworkInventory network;
  network.links = {link};
  return network;
}

probes::SettingsInventory SampleSettings() {
  probes::SettingsInventory settings;
  settings.os = std::string("Invented Linux 9");
  settings.kernel = std::string("6.1.0");
  settings.on_mains = true;
  settings.has_battery = false;
  settings.power_profile = Reading<std::string>::Unknown("this firmware has none");
  settings.pcie_power_saving = std::string("default");
  settings.clock_synchronised = true;
  settings.file_watchers = std::vector<probes::FileWatcher>{{"file-guard", 712}};
  settings.sleep_target = {std::string("allowed"), ""};
  settings.idle_action = {std::string("suspend"), "/etc/systemd/logind.conf"};
  settings.has_lid = false;
  settings.swap_areas =
      std::vector<probes::SwapArea>{{"/dev/nvme0n1p3", "partition", 8'000'000'000, 0, {"nvme0n1"}}};
  settings.swappiness = 60;
  settings.clock_keepers =
      std::vector<probes::ClockKeeper>{{"chrony", "/run/chrony/chronyd.pid", true}};
  settings.work_timers = std::vector<probes::WorkTimer>{
      {"fstrim.timer", "disk upkeep", "OnCalendar=weekly", "", true, false, ""}};
  return settings;
}

std::vector<Headroom> SampleHeadroom() {
  return {
      {Resource::kCpu, "", 8.6, 8.0, "CPUs", -7.5, 25, Basis::kMeasured,
       "demand from the flat-out run, capacity from the CPUs we may use", ""},
      {Resource::kUsb, "2-1", 186.4e6, 400e6, "B/s", 53.4, 15, Basis::kComputed,
       "two captures below one hub on a 5 Gb/s link", ""},
      {Resource::kUsb, "1-3", 46.6e6, 48e6, "B/s", 2.9, 15, Basis::kComputed,
       "one capture on a 480 Mb/s link, periodic share", ""},
      {Resource::kDisk, "/takes", 26.4e6, 212e6, "B/s", 87.5, 40, Basis::kMeasured,
       "sustained sequential writing after its step", ""},
      {Resource::kSpace, "/takes", 237e9, 231e9, "B", -2.6, 0, Basis::kRead,
       "free space for an ordinary user", ""},
      {Resource::kNetwork, "enp4s0", 6.4e6, 941e6, "b/s", 99.3, 30, Basis::kComputed,
       "goodput of a 1000 Mb/s link", ""},
      {Resource::kEncoder, "hardware", 0, std::nullopt, "sessions", std::nullopt, 25,
       Basis::kAssumed, "no hardware encoder opened", "rehearse with a profile that asks for one"}};
}

std::vector<Finding> SampleFindings() {
  return {{"cpu-short",
           Severity::kStop,
           "Encoding asks for more CPU than there is",
           {"flat out the production reaches 0.93 times real time",
            "118 frames were dropped at the encode stage in 60 s"},
           "Lower the effort of the isos, or record fewer of them by software.",
           {},
           {Resource::kCpu},
           {ReportPart::kOverTime, ReportPart::kMachine}},
          {"space-short",
           Severity::kStop,
           "The disk is full before the production ends",
           {"237 GB are needed for 2 h 30 min, 231 GB are free"},
           "Free at least 20 GB below /takes.",
           {{SubjectKind::kFolder, "/takes"}},
           {Resource::kSpace}},
          {"usb-shared-hub",
           Severity::kWarn,
           "Two capture devices share the hub at 2-1",
           {"Capture One at 2-1.1", "Capture Two at 2-1.2"},
           "Move one of them to a port of its own.",
           {{SubjectKind::kUsb, "2-1"}},
           {Resource::kUsb},
           {ReportPart::kWiring}},
          {"usb-slow-link",
           Severity::kWarn,
           "Capture Three runs at 480 Mb/s and could run at 5 Gb/s",
           {"negotiated 480 Mb/s at 1-3, its descriptors offer 5 Gb/s"},
           "Use a USB 3 cable and a blue port.",
           {{SubjectKind::kUsb, "1-3"}},
           {Resource::kUsb},
           {ReportPart::kWiring}},
          {"level-high",
           Severity::kNote,
           "Program needs H.264 level 5.0",
           {"40,000 kb/s are more than level 4.2 allows"},
           "Ask the editor, or stay below 40,000 kb/s.",
           {{SubjectKind::kOutput, "Program"}},
           {},
           {ReportPart::kDemand}}};
}

/// As the assessment fills it in; a root hub whose ports have a bus each is no link.
void SetUsed(WiringNode& node) {
  if (node.demand_bytes_per_second && node.capacity_bytes_per_second &&
      node.kind != NodeKind::kRootHub) {
    node.used_percent = *node.demand_bytes_per_second / *node.capacity_bytes_per_second * 100;
  }
}

std::vector<WiringNode> SampleWiring() {
  std::vector<WiringNode> nodes = {
      {"0000:00:14.0", "Invented USB controller", NodeKind::kController, 0, 0, 233e6, {}, {}},
      {"usb1", "USB 2 root hub", NodeKind::kRootHub, 1, 480, 46.6e6, 48e6, {}},
      {"1-3", "Capture Three", NodeKind::kCapture, 2, 480, 46.6e6, 48e6, {"usb-slow-link"}},
      {"1-4", "Keyboard", NodeKind::kOther, 2, 1.5, {}, {}, {}},
      {"usb2", "USB 3 root hub", NodeKind::kRootHub, 1, 10000, 186.4e6, 900e6, {}},
      {"2-1",
       "Desk hub with seven ports and a name longer than any drawing has room for",
       NodeKind::kHub,
       2,
       5000,
       186.4e6,
       400e6,
       {"usb-shared-hub"}},
      {"2-1.1", "Capture One", NodeKind::kCapture, 3, 5000, 93.2e6, 400e6, {"usb-shared-hub"}},
      {"2-1.2", "Capture Two", NodeKind::kCapture, 3, 5000, 93.2e6, 400e6, {"usb-shared-hub"}},
      {"2-1.4", "Small disk", NodeKind::kStorage, 3, 5000, {}, {}, {}}};
  std::for_each(nodes.begin(), nodes.end(), SetUsed);
  return nodes;
}

// The hub's second camera on a port of its own.
MovePlan SampleMoves() {
  MovePlan plan;
  plan.moves = {{"2-1.2", "Capture Two", "Stage left", "2-1-port2", "usb2-port3", "2-3",
                 "Take the plug of Capture Two (2-1.2), source \"Stage left\", out of port 2 of "
                 "hub Desk hub (2-1) and put it into port 3 of the PC's USB controller "
                 "(0000:00:14.0). The system calls them 2-1-port2 and usb2-port3."}};
  plan.percent_before = 46.6;
  plan.percent_after = 23.3;
  plan.worst_before = "USB hub Desk hub (2-1)";
  plan.worst_after = "USB device Capture One (2-1.1)";
  plan.devices = 3;
  plan.free_ports = 4;
  plan.why = {
      "Of all ways to put the capture devices on the sockets of this PC (4 free) none has a "
      "less full fullest link, and none as good needs fewer moves."};
  plan.mends = {"Two capture devices share one hub"};
  plan.wiring = SampleWiring();
  plan.wiring[5].demand_bytes_per_second = 93.2e6;
  SetUsed(plan.wiring[5]);
  plan.wiring[7].path = "2-3";
  plan.wiring[7].depth = 2;
  plan.wiring[7].remark = "Stage left: 1920x1080 uyvy422 at 25, alternate setting 3";
  std::swap(plan.wiring[7], plan.wiring[8]);  // the disk stays on the hub
  return plan;
}

}  // namespace

probes::Inventory SampleMachine() {
  probes::Inventory machine;
  machine.machine_root = "/";
  machine.cpu = SampleCpu();
  machine.pci = SamplePci();
  machine.gpu = SampleGpu();
  machine.codecs = SampleCodecs();
  machine.usb = SampleUsb();
  machine.storage = SampleStorage();
  machine.network = SampleNetwork();
  machine.settings = SampleSettings();
  machine.runs = {{"cpu", 0.006, ""}, {"usb", 0.011, ""}, {"gpu", 0.002, "no /sys/class/drm"}};
  return machine;
}

void AddSampleAssessment(Document& document) {
  document.verdict = Verdict::kShort;
  document.complete = true;
  document.headline = document.first_limit =
      "This PC will not carry the concert: encoding asks for 8.6 CPUs of 8.";
  document.reasons = {"Encoding: 8.6 CPUs asked, 8 sustained; 118 frames dropped in 60 s.",
                      "Space: 237 GB asked, 231 GB free.",
                      "USB link 1-3 keeps 2.9 % free, 15 % are wanted."};
  document.headroom = SampleHeadroom();
  document.findings = SampleFindings();
  document.wiring = SampleWiring();
  document.move_plan = SampleMoves();
  document.method = {
      "CPU: the whole production ran as fast as it goes; demand is CPU time over "
      "production time.",
      "Disk: sequential writing until five windows in a row kept within bounds."};
  document.cautions = {"Invented figures: this page shows what a report looks like.",
                       "Simulated cameras stand in for real ones; run a line check with the real "
                       "devices before the day."};
}

}  // namespace report
