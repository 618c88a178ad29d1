// SPDX-License-Identifier: Apache-2.0
//
// Rules on storage, power, encoders, network and settings: where each speaks and where it is
// silent.

#include <gtest/gtest.h>

#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

template <typename T>
base::Reading<T> Unknown() {
  return base::Reading<T>::Unknown("not readable");
}

probes::StorageInventory& Storage(Evidence& e) {
  return e.inventory.storage[0];
}
bench::DiskRun& Disk(Evidence& e) {
  return e.results.disks[0];
}
probes::NetworkLink& Link(Evidence& e) {
  return e.inventory.network.links[0];
}

// Needed: 2.88 GB; the guard is 5 % of 1 TB.
void LeaveFree(Evidence& e, std::int64_t bytes) {
  Storage(e).free_bytes = bytes;
}

void AskHardware(Evidence& e, bool works) {
  e.profile.outputs[0].encoder = profiles::EncoderChoice::kHardware;
  probes::CodecTrial trial;
  trial.name = "h264_invented";
  trial.codec = "h264";
  trial.hardware = true;
  trial.works = works;
  trial.refusal = works ? "" : "Cannot load the driver";
  e.inventory.codecs.trials.push_back(trial);
}

void AskSessions(Evidence& e, int sessions) {
  AskHardware(e, true);
  e.profile.outputs[1].encoder = profiles::EncoderChoice::kHardware;
  e.profile.outputs[1].bitrate_kbps += 1000;  // an encode of its own
  e.inventory.codecs.trials.back().sessions = sessions;
}

const std::vector<RuleCase> kStorageCases = {
    {"space-short",
     Severity::kStop,
     [](Evidence& e) { LeaveFree(e, 51'440'000'000); },
     [](Evidence& e) { LeaveFree(e, 52'900'000'000); },
     {"/recordings is full after 30 min", "1 h", "Free at least 1.44 GB"}},
    // FAT32 ends a file at 4294967295 bytes (Linux fs/fat/inode.c).
    {"file-size-limit",
     Severity::kStop,
     [](Evidence& e) {
       Storage(e).filesystem = std::string("vfat");
       Storage(e).largest_file_bytes = std::int64_t{4294967295};
       e.demand.outputs[0].space_bytes = 22.5e9;
     },
     [](Evidence& e) {
       Storage(e).filesystem = std::string("vfat");
       Storage(e).largest_file_bytes = std::int64_t{4294967295};
     },
     // 4294967295 x 8 / 50 Mb/s = 687.19 s (arithmetic of S006)
     {"vfat", "4.29 GB", "11 min 27 s"}},
    {"folder-not-writable",
     Severity::kStop,
     [](Evidence& e) { Storage(e).writable = false; },
     [](Evidence& e) { Storage(e).writable = Unknown<bool>(); },
     {"/recordings"}},
    {"disk-not-steady",
     Severity::kWarn,
     [](Evidence& e) {
       Disk(e).steady = false;
       Disk(e).sustained_bytes_per_second = 1.2 * e.demand.disk_bytes_per_second;
     },
     [](Evidence&) {},
     {"did not settle", "20 % and 10 %"}},
    {"disk-not-steady",
     Severity::kNote,  // far above what is asked
     [](Evidence& e) { Disk(e).steady = false; },
     [](Evidence&) {},
     {"did not settle", "20 % and 10 %"}},
    {"disk-step-down",
     Severity::kNote,
     [](Evidence& e) {
       Disk(e).step_at_s = 4;
       Disk(e).step_ratio = 0.4;
     },
     [](Evidence& e) {
       Disk(e).step_at_s = 4;
       Disk(e).step_ratio = 1.3;
     },
     {"fell to 40 %", "4.0 s", "200 MB/s"}},
    {"disk-on-usb",
     Severity::kWarn,
     [](Evidence& e) { Storage(e).layers[0].usb_path = "2-3"; },
     [](Evidence&) {},
     {"2-3"}},
    {"disk-rotational",
     Severity::kNote,
     [](Evidence& e) { Storage(e).layers[0].rotational = true; },
     [](Evidence& e) {
       Storage(e).layers[0].rotational = true;
       Storage(e).layers[0].transport = std::string("virtio");
     },
     {"spinning"}},
};

/// One kind of core, eight threads: as many held at `allowed` of 4.8 GHz.
probes::CoreKind& Kind(Evidence& e, int held, std::int64_t allowed_khz) {
  probes::CoreKind kind;
  kind.name = e.inventory.cpu.kinds.empty() ? "performance" : "efficient";
  kind.threads = 8;
  kind.max_khz = std::int64_t{4'800'000};
  kind.allowed_khz = allowed_khz;
  kind.held_threads = held;
  e.inventory.cpu.kinds.push_back(kind);
  return e.inventory.cpu.kinds.back();
}

const std::vector<RuleCase> kPowerCases = {
    {"cpu-held-back",
     Severity::kWarn,
     [](Evidence& e) {
       e.inventory.cpu.kinds.clear();
       Kind(e, 4, 2'400'000);
     },
     [](Evidence& e) {
       e.inventory.cpu.kinds.clear();
       Kind(e, 0, 4'800'000);
     },
     {"4 of 8 threads", "2.40 GHz at most, of 4.80 GHz (50 %)", "--max 4.80GHz"}},
    // Each kind of core by itself.
    {"cpu-held-back",
     Severity::kWarn,
     [](Evidence& e) {
       e.inventory.cpu.kinds.clear();
       Kind(e, 0, 4'800'000);
       Kind(e, 8, 1'200'000).max_khz = std::int64_t{3'600'000};
     },
     [](Evidence& e) {
       e.inventory.cpu.kinds.clear();
       Kind(e, 8, 2'800'000).base_khz = std::int64_t{2'800'000};
       e.inventory.cpu.boost_enabled = false;  // another finding, and why it is held
     },
     {"efficient cores: 8 of 8 threads", "(33 %)"}},
    // Below the base rate it is not boost alone that holds it.
    {"cpu-held-back",
     Severity::kWarn,
     [](Evidence& e) {
       e.inventory.cpu.kinds.clear();
       Kind(e, 8, 2'000'000).base_khz = std::int64_t{2'800'000};
       e.inventory.cpu.boost_enabled = false;
     },
     [](Evidence& e) {
       e.inventory.cpu.kinds.clear();
       Kind(e, 8, 2'800'000);
       e.inventory.cpu.boost_enabled = false;
       e.inventory.cpu.frequency_driver = std::string("intel_pstate");
     },
     {"2.00 GHz at most"}},
    {"cpu-held-back",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.cpu.performance_limit = 60; },
     [](Evidence& e) { e.inventory.cpu.performance_limit = 100; },
     {"allows 60 % of its speed", "max_perf_pct"}},
    {"cpu-throttled",
     Severity::kWarn,
     [](Evidence& e) { e.telemetry->throttle_events = 3; },
     [](Evidence&) {},
     {"3 throttle events", std::string(kCautionInside)}},
    {"power-battery",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.settings.on_mains = false; },
     [](Evidence& e) { e.inventory.settings.on_mains = Unknown<bool>(); },
     {"battery"}},
    // Linux admin-guide/pm: under intel_pstate "powersave" is the usual governor.
    {"power-saving-governor",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.cpu.frequency_driver = std::string("acpi-cpufreq"); },
     [](Evidence&) {},
     {"powersave", "acpi-cpufreq"}},
    {"power-saving-governor",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.cpu.energy_preference = std::string("balance_power"); },
     [](Evidence& e) { e.inventory.cpu.energy_preference = std::string("balance_performance"); },
     {"balance_power", "intel_pstate"}},
    {"power-saving-profile",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.settings.power_profile = std::string("low-power"); },
     [](Evidence& e) { e.inventory.settings.power_profile = Unknown<std::string>(); },
     {"low-power"}},
    {"pcie-power-saving",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.settings.pcie_power_saving = std::string("powersave"); },
     [](Evidence& e) { e.inventory.settings.pcie_power_saving = std::string("performance"); },
     {"ASPM"}},
    {"cpu-boost",
     Severity::kNote,
     [](Evidence& e) { e.inventory.cpu.boost_enabled = true; },
     [](Evidence&) {},
     {"boost"}},
    {"swap",
     Severity::kWarn,
     [](Evidence& e) {
       e.inventory.cpu.swap_bytes = std::int64_t{1'000'000'000};
       e.inventory.cpu.memory_available_bytes = std::int64_t{599'000'000};
     },
     [](Evidence& e) { e.inventory.cpu.swap_bytes = std::int64_t{1'000'000'000}; },
     {"599 MB", "300 MB"}},
    {"clock-not-synchronised",
     Severity::kNote,
     [](Evidence& e) { e.inventory.settings.clock_synchronised = false; },
     [](Evidence& e) { e.inventory.settings.clock_synchronised = Unknown<bool>(); },
     {"time"}},
    {"virtual-machine",
     Severity::kNote,
     [](Evidence& e) { e.inventory.cpu.hypervisor = std::string("kvm"); },
     [](Evidence&) {},
     {"kvm"}},
    {"file-scanners",
     Severity::kWarn,
     [](Evidence& e) {
       e.inventory.settings.file_watchers =
           std::vector<probes::FileWatcher>{{.process = "scan\x1b[31m", .pid = 77}};
     },
     [](Evidence& e) {
       e.inventory.settings.file_watchers = Unknown<std::vector<probes::FileWatcher>>();
     },
     {"77", "fanotify", "scan\\x1B[31m"}},
    {"probe-failed",
     Severity::kNote,
     [](Evidence& e) {
       e.inventory.runs.push_back({.probe = "gpu", .seconds = 0, .failure = "denied"});
     },
     [](Evidence& e) { e.inventory.runs.push_back({.probe = "gpu", .seconds = 0, .failure = ""}); },
     {"gpu: denied"}},
};

const std::vector<RuleCase> kEncoderCases = {
    {"encoder-missing",
     Severity::kStop,
     [](Evidence& e) { AskHardware(e, false); },
     [](Evidence& e) { AskHardware(e, true); },
     {"h264 hardware", "h264_invented: Cannot load the driver"}},
    {"encoder-missing",
     Severity::kStop,
     [](Evidence& e) { AskSessions(e, 1); },
     [](Evidence& e) { AskSessions(e, 2); },
     {"2 h264 hardware", "opens 1 at once"}},
    {"encoder-missing",
     Severity::kStop,
     [](Evidence& e) { e.profile.outputs[0].codec = "av1"; },
     [](Evidence& e) {
       e.profile.outputs[0].codec = "av1";
       e.inventory.codecs.tried = Unknown<bool>();
     },
     {"FFmpeg has no av1 encoder"}},
    {"encoder-refused",
     Severity::kNote,
     [](Evidence& e) { AskHardware(e, false); },
     [](Evidence& e) { AskHardware(e, true); },
     {"Cannot load the driver"}},
    {"level-uncommon",
     Severity::kWarn,
     [](Evidence& e) {
       e.demand.outputs[0].level = "5.1";
       e.demand.outputs[0].level_limit = "picture rate";
       e.demand.outputs[0].level_commonly_played = false;
     },
     [](Evidence& e) { e.demand.outputs[0].level = "4.2"; },
     {"Recording needs level 5.1", "picture rate"}},
};

const std::vector<RuleCase> kNetworkCases = {
    {"uplink-unmeasured",
     Severity::kWarn,
     [](Evidence&) {},
     [](Evidence& e) { e.profile.outputs.pop_back(); },
     // 6.5 Mb/s over 70 % (common practice share of a measured uplink)
     {"6.50 Mb/s", "9.29 Mb/s", "sent to this PC itself"}},
    {"network-slow",
     Severity::kWarn,
     [](Evidence& e) { Link(e).speed_mbps = 9.0; },
     [](Evidence& e) { Link(e).speed_mbps = 10.0; },
     {"eth0", "6.50 Mb/s", "9.00 Mb/s"}},
    {"network-slow",
     Severity::kStop,
     [](Evidence& e) { Link(e).speed_mbps = 6.0; },
     [](Evidence& e) { Link(e).speed_mbps = Unknown<double>(); },
     {"eth0"}},
    {"network-half-duplex",
     Severity::kWarn,
     [](Evidence& e) { Link(e).duplex = std::string("half"); },
     [](Evidence& e) { Link(e).duplex = Unknown<std::string>(); },
     {"eth0"}},
    {"network-wireless",
     Severity::kWarn,
     [](Evidence& e) { Link(e).wireless = true; },
     [](Evidence& e) {
       Link(e).wireless = true;
       e.profile.outputs.pop_back();
     },
     {"eth0"}},
    {"network-errors",
     Severity::kWarn,
     [](Evidence& e) { Link(e).receive_errors = std::int64_t{4}; },
     [](Evidence&) {},
     {"4 errors received"}},
    {"displays-fewer",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.gpu.displays[0].connected = false; },
     [](Evidence&) {},
     {"HDMI-A-1: nothing connected"}},
    {"displays-fewer",
     Severity::kStop,
     [](Evidence& e) { e.demand.displays = 2; },
     [](Evidence& e) { e.demand.displays = 0; },
     {"2 displays are wanted, 1 connected"}},
    {"displays-unreadable",
     Severity::kNote,
     [](Evidence& e) { e.inventory.gpu.displays.clear(); },
     [](Evidence&) {},
     {"no display connector"}},
    {"displays-unreadable",
     Severity::kNote,
     [](Evidence& e) { e.inventory.gpu.displays[0].connected = Unknown<bool>(); },
     [](Evidence& e) {
       e.inventory.gpu.displays.push_back(e.inventory.gpu.displays[0]);
       e.inventory.gpu.displays[1].connected = Unknown<bool>();
     },
     {"HDMI-A-1: unknown: not readable"}},
    // 60 against 60000/1001: one picture every 1001/60 = 16.683 s (exact arithmetic).
    {"rates-differ",
     Severity::kWarn,
     [](Evidence& e) {
       e.profile.program_rate = 60;
       e.profile.sources[0].rate = base::Rational(60000, 1001);
     },
     [](Evidence& e) { e.profile.program_rate = 60; },
     {"repeated every 16.683 s", "59.94 to 60"}},
};

INSTANTIATE_TEST_SUITE_P(Storage, RuleTest, ::testing::ValuesIn(kStorageCases), NameOf);
INSTANTIATE_TEST_SUITE_P(Power, RuleTest, ::testing::ValuesIn(kPowerCases), NameOf);
INSTANTIATE_TEST_SUITE_P(Encoders, RuleTest, ::testing::ValuesIn(kEncoderCases), NameOf);
INSTANTIATE_TEST_SUITE_P(Network, RuleTest, ::testing::ValuesIn(kNetworkCases), NameOf);

}  // namespace
}  // namespace report::testing
