// SPDX-License-Identifier: Apache-2.0

#include "tests/support/sample_inventory.h"

namespace tests {
namespace {

using probes::UsbRole;

probes::CpuInventory Cpu() {
  probes::CpuInventory cpu;
  cpu.model = std::string("Example 6-core processor");
  cpu.packages = 1;
  cpu.cores = 6;
  cpu.threads = 12;
  cpu.numa_nodes = 1;
  cpu.kinds = {{"performance", 2, 4, std::int64_t{4'800'000}},
               {"efficient", 4, 4, base::Reading<std::int64_t>::Unknown("not given")}};
  cpu.caches = {{1, "data", 49152, 6}, {3, "unified", 12'582'912, 1}};
  cpu.min_khz = std::int64_t{800'000};
  cpu.max_khz = std::int64_t{4'800'000};
  cpu.governor = std::string("powersave");
  cpu.boost_enabled = true;
  cpu.throttle_events = std::int64_t{3};
  cpu.hypervisor = std::string("none");
  cpu.usable_cpus = 12.0;
  cpu.memory_bytes = std::int64_t{16'000'000'000};
  return cpu;
}

probes::UsbDevice Device(const std::string& path, const std::string& parent, int bus, UsbRole role,
                         const std::string& product) {
  probes::UsbDevice device;
  device.path = path;
  device.parent = parent;
  device.bus = bus;
  device.role = role;
  device.product = product;
  device.speed_mbps = 5000;
  return device;
}

probes::UsbInventory Usb() {
  probes::UsbInventory usb;
  usb.present = true;
  usb.controllers = {{"0000:00:14.0", "Example xHCI controller", std::string("xhci_hcd"), {1, 2}}};
  usb.devices = {Device("usb2", "", 2, UsbRole::kHub, "xHCI Host Controller"),
                 Device("2-1", "usb2", 2, UsbRole::kHub, "Four-port hub"),
                 Device("2-1.1", "2-1", 2, UsbRole::kCapture, "Camera \x1b[31mred\x1b[0m"),
                 Device("2-1.2", "2-1", 2, UsbRole::kCapture, "\xe6\x98\xa0\xe5\x83\x8f input"),
                 Device("2-2", "usb2", 2, UsbRole::kStorage, "Portable disk"),
                 Device("9-1", "nowhere", 9, UsbRole::kOther, "")};
  usb.devices[2].power_control = std::string("auto");
  usb.devices[2].video_nodes = {"video0", "video1"};
  usb.devices[3].speed_mbps = 480;
  usb.devices[3].best_speed_mbps = 5000.0;
  usb.devices[4].descriptor_fault = "ends after 12 of 44 bytes";
  return usb;
}

probes::CodecInventory Codecs() {
  probes::CodecInventory codecs;
  codecs.tried = true;
  codecs.ffmpeg_version = "5.1.6";
  const auto none = base::Reading<int>::Unknown("not counted");
  codecs.trials = {{"libx264", "h264", true, false, true, "", none, 0.1},
                   {"h264_vaapi", "h264", true, true, false, "No VA display found", none, 0.2},
                   {"hevc_example", "hevc", true, true, true, "", 3, 0.2},
                   {"h264", "h264", false, false, true, "", none, 0.1}};
  return codecs;
}

probes::StorageInventory Storage() {
  probes::StorageInventory storage;
  storage.folder = "/srv/takes";
  storage.mount_point = std::string("/srv");
  storage.filesystem = std::string("ext4");
  storage.mount_options = std::vector<std::string>{"rw", "relatime"};
  storage.size_bytes = std::int64_t{1'000'000'000'000};
  storage.free_bytes = std::int64_t{412'000'000'000};
  storage.largest_file_bytes = std::int64_t{17'592'186'040'320};
  storage.writable = true;
  probes::BlockLayer part;
  part.name = "sdb1";
  part.kind = "partition";
  probes::BlockLayer disk;
  disk.name = "sdb";
  disk.kind = "disk";
  disk.model = "Example disk";
  disk.transport = std::string("usb");
  disk.rotational = false;
  disk.size_bytes = std::int64_t{1'000'204'886'016};
  disk.usb_path = "2-2";
  storage.layers = {part, disk};
  return storage;
}

probes::BoardInventory Board() {
  probes::BoardInventory board;
  board.maker = std::string("Example Makers");
  board.model = std::string("Tower 6");
  board.board_maker = std::string("Example Makers");
  board.board_model = std::string("Example Makers TX-6");
  board.firmware_maker = std::string("Example Firmware");
  board.firmware_version = std::string("1.07");
  board.firmware_date = std::string("04/01/2024");
  probes::MemoryModule module;
  module.slot = "DIMM_A1";
  module.bank = "P0 CHANNEL A";
  module.size_bytes = std::int64_t{8} << 30;
  module.type = std::string("DDR4");
  module.speed_mts = 2666;
  module.best_speed_mts = 3200;
  module.maker = std::string("Example Memory");
  module.part = std::string("EX-8G");
  probes::MemoryModule second = module;
  second.slot = "DIMM_B1";
  second.bank = "P0 CHANNEL B";
  probes::MemoryModule empty;
  empty.slot = "DIMM_A2";
  empty.size_bytes = std::int64_t{0};
  board.memory = std::vector<probes::MemoryModule>{module, second, empty};
  board.memory_channels = 2;
  board.channels_by = "by the names of the sockets";
  return board;
}

probes::DiskInventory Disks() {
  probes::DiskInventory disks;
  disks.present = true;
  probes::Disk nvme;
  nvme.device.name = "nvme0n1";
  nvme.device.kind = "disk";
  nvme.device.model = "Example NVMe";
  nvme.device.transport = std::string("nvme");
  nvme.device.rotational = false;
  nvme.device.size_bytes = std::int64_t{500'107'862'016};
  nvme.device.pci_address = "0000:02:00.0";
  nvme.removable = false;
  nvme.health = {
      true, 41.85, 7, 100, std::int64_t{8760}, std::int64_t{42'000'000'000'000}, std::int64_t{0}};
  probes::Disk usb;
  usb.device = Storage().layers[1];
  usb.removable = true;
  const std::string why = "disks behind USB are not asked";
  usb.health.sound = base::Reading<bool>::Unknown(why);
  usb.health.wear_percent = base::Reading<int>::Unknown(why);
  usb.health.temperature_c = base::Reading<double>::Unknown(why);
  disks.disks = {nvme, usb};
  return disks;
}

probes::SoundInventory Sound() {
  probes::SoundInventory sound;
  sound.present = true;
  sound.cards = {{0, "PCH", "Example board sound", 1, 2, "", "0000:00:1f.3"},
                 {1, "Mixer", "Example mixer", 1, 0, "2-3", "0000:00:14.0"}};
  return sound;
}

/// A camera with two formats and two alternate settings.
void FillCamera(probes::UsbDevice& device) {
  probes::CaptureMode raw;
  raw.pixel_format = "yuyv422";
  raw.width = 640;
  raw.height = 480;
  raw.intervals_100ns = {333333, 666666};
  probes::CaptureMode packed = raw;
  packed.pixel_format = "mjpeg";
  packed.width = 1920;
  packed.height = 1080;
  packed.intervals_100ns = {166666};
  device.modes = {raw, packed};
  for (const int alternate : {1, 2}) {
    probes::UsbInterface setting;
    setting.number = 1;
    setting.alternate = alternate;
    setting.interface_class = 0x0e;
    setting.subclass = 0x02;
    setting.driver = std::string("uvcvideo");
    probes::UsbEndpoint endpoint;
    endpoint.type = probes::TransferType::kIsochronous;
    endpoint.max_packet_bytes = 1024;
    endpoint.packets_per_interval = alternate;
    endpoint.bytes_per_interval = 1024 * alternate;
    setting.endpoints = {endpoint};
    device.interfaces.push_back(setting);
  }
}

}  // namespace

probes::Inventory SampleInventory() {
  probes::Inventory inventory;
  inventory.machine_root = "/";
  inventory.board = Board();
  inventory.cpu = Cpu();
  inventory.cpu.kinds[0].allowed_khz = std::int64_t{2'400'000};
  inventory.cpu.kinds[0].held_threads = 4;
  inventory.gpu.present = true;
  probes::PciDevice adapter;
  adapter.address = "0000:01:00.0";
  adapter.name = "Example graphics";
  adapter.driver = std::string("example");
  adapter.link = {8.0, 8, 16.0, 16};
  inventory.gpu.adapters = {adapter};
  const auto off = base::Reading<std::string>::Unknown("off");
  inventory.gpu.displays = {
      {"HDMI-A-1", true, std::string("1920x1080"), std::string("Example 24"),
       std::string("1920x1080"), 60000.0 / 1001},
      {"DP-1", false, off},
      {"VGA-1", base::Reading<bool>::Unknown("the kernel says 'unknown'"), off}};
  inventory.gpu.connected_displays = base::Reading<int>::Unknown("VGA-1 does not tell");
  probes::PciDevice card;
  card.address = "0000:03:00.0";
  card.class_code = 0xff0000;
  card.name = "Example card";
  card.driver = std::string();
  card.video_nodes = std::vector<std::string>{};
  inventory.pci.present = true;
  inventory.pci.functions = {card};
  inventory.codecs = Codecs();
  inventory.usb = Usb();
  FillCamera(inventory.usb.devices[2]);
  inventory.usb.devices[0].port_list = {
      {1, {}, "", {}, {}}, {2, {}, "", {}, {}}, {3, {}, "", {}, std::string("back")}};
  inventory.disks = Disks();
  inventory.sound = Sound();
  inventory.storage = {Storage()};
  probes::NetworkLink wired;
  wired.name = "enp3s0";
  wired.up = true;
  wired.wireless = false;
  wired.speed_mbps = 1000.0;
  wired.duplex = std::string("full");
  wired.receive_errors = std::int64_t{4};
  wired.default_route = true;
  wired.mtu_bytes = 1500;
  inventory.network.links = {wired};
  inventory.settings.os = std::string("Example Linux 12");
  inventory.settings.on_mains = true;
  inventory.settings.file_watchers = std::vector<probes::FileWatcher>{{"scanner", 812}};
  inventory.runs = {{"cpu", 0.01, ""}, {"sensors", 0.2, "the folder cannot be read"}};
  return inventory;
}

}  // namespace tests
