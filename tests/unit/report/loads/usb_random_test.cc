// SPDX-License-Identifier: Apache-2.0
//
// Random USB trees, profiles and odd names: what holds of every one of them.

#include <algorithm>
#include <random>
#include <set>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/demand/demand.h"
#include "report/data/writers.h"
#include "tests/support/port_builder.h"
#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

class RandomPc {
 public:
  explicit RandomPc(unsigned seed) : random_(seed) {}

  Evidence Make() {
    Evidence evidence = GoodEvidence();
    auto& usb = evidence.inventory.usb;
    std::erase_if(usb.devices,
                  [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
    usb.nodes_read = One(2);
    if (One(4)) {  // one controller of the old kind, whose ports share a bus
      usb.controllers.resize(1);
      usb.controllers[0].driver = std::string("ehci-pci");
      std::erase_if(usb.devices, [](const auto& one) { return one.path != "usb1"; });
      usb.controllers[0].buses = {1};
    }
    const int devices = 1 + Below(9);
    for (int i = 0; i < devices; ++i) {
      AddDevice(usb);
    }
    GivePorts(evidence);
    evidence.profile.sources.clear();
    const int sources = Below(7);
    for (int i = 0; i < sources; ++i) {
      AddSourceOf(evidence, i);
    }
    evidence.demand.sources = profiles::SumDemand(evidence.profile).sources;
    evidence.length = Pick({kSurvey, kRehearsalOnly, "quick"});
    if (evidence.length == kSurvey) {
      evidence.results = {};
      evidence.telemetry.reset();
    } else if (One(3)) {
      Drop(evidence, 1 + Below(500), 30, bench::Stage::kEncode);
      evidence.profile.margins.allowed_drops_per_hour = One(2) ? 1e6 : 0;
    }
    return evidence;
  }

 private:
  int Below(int limit) { return static_cast<int>(random_() % static_cast<unsigned>(limit)); }
  bool One(int in) { return Below(in) == 0; }
  template <typename T = std::string>
  T Pick(const std::vector<T>& from) {
    return from[static_cast<std::size_t>(Below(static_cast<int>(from.size())))];
  }

  void AddDevice(probes::UsbInventory& usb) {
    std::vector<probes::UsbDevice> hubs;
    std::copy_if(usb.devices.begin(), usb.devices.end(), std::back_inserter(hubs),
                 [](const auto& one) { return one.role == probes::UsbRole::kHub; });
    const auto hub = Pick<probes::UsbDevice>(hubs);
    const int port = 1 + Below(4);
    const std::string path = hub.parent.empty()
                                 ? std::to_string(hub.bus) + "-" + std::to_string(port)
                                 : hub.path + "." + std::to_string(port);
    const bool taken = std::any_of(usb.devices.begin(), usb.devices.end(),
                                   [&](const auto& one) { return one.path == path; });
    if (taken) {
      return;
    }
    const double fastest = hub.speed_mbps;
    if (One(3)) {
      usb.devices.push_back(Hub(path, hub.path, hub.bus, fastest));
      usb.devices.back().port = port;
      usb.devices.back().product = Pick({"4-1", "Hub 2-1.1", "\x1b[2J", "hub: 1-1.", ""});
      return;
    }
    const double speed = fastest >= 5000 ? fastest : Pick<double>({fastest, fastest, 12});
    usb.devices.push_back(Capture(path, hub.path, hub.bus, speed));
    probes::UsbDevice& device = usb.devices.back();
    device.port = port;
    device.product = Pick({"Capture HD 4-1", "usb2", "", "<b>2-1.1</b>", "0000:00:14.0"});
    device.usb_version = Pick({"2.00", "2.10", "3.20", "", "2", "9.99", "-1.-1"});
    device.companions = One(3);
    if (One(3)) {
      device.best_speed_mbps = base::Reading<double>::Unknown("no list of capabilities");
    }
    device.role = Pick<probes::UsbRole>({probes::UsbRole::kCapture, probes::UsbRole::kCapture,
                                         probes::UsbRole::kStorage, probes::UsbRole::kAudio});
    for (probes::UsbInterface& interface : device.interfaces) {
      interface.driver = Pick({"", "uvcvideo", "uvcvideo", "usbfs"});
      interface.endpoints[0].type = Pick<probes::TransferType>(
          {probes::TransferType::kIsochronous, probes::TransferType::kBulk});
      interface.endpoints[0].bytes_per_interval = Pick<int>({128, 1023, 3072, 16384, 49152});
    }
    if (One(2)) {
      device.video_nodes = {"video" + std::to_string(Below(9))};
    }
    device.modes.push_back({.pixel_format = "mjpeg",
                            .width = 1920,
                            .height = 1080,
                            .intervals_100ns = {166666, 333333},
                            .max_frame_bytes = Pick<std::int64_t>({0, 1, 4147200, 0xffffffff})});
    if (One(4)) {
      device.driver_modes = std::vector<probes::CaptureMode>{device.modes.back()};
    }
  }

  void AddSourceOf(Evidence& evidence, int number) {
    AddSource(evidence, "Camera " + std::to_string(number), 0);
    profiles::Source& source = evidence.profile.sources.back();
    source.arrives_by = One(6) ? profiles::ArrivesBy::kPcie : profiles::ArrivesBy::kUsb;
    source.pixel_format = Pick({"mjpeg", "yuyv422", "nv12", "h264"});
    source.raster = One(2) ? profiles::Raster{1920, 1080} : profiles::Raster{1280, 720};
    source.rate = Pick<int>({25, 30, 60});
  }

  std::mt19937 random_;
};

TEST(RandomUsb, StopsAndVerdictAgreeAndNothingIsShortByAssumption) {
  std::set<std::string> seen;
  for (unsigned seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE(seed);
    const Document document = Assess(RandomPc(seed).Make());
    ExpectStopsAndVerdictAgree(document);
    for (const Headroom& row : document.headroom) {
      if (row.basis == Basis::kAssumed) {
        EXPECT_TRUE(!row.capacity || row.demand <= *row.capacity) << row.item;
        EXPECT_TRUE(row.capacity || !row.how_to_prove.empty()) << row.item;
      }
    }
    for (const Finding& finding : document.findings) {
      seen.insert(finding.id);
    }
    seen.insert(document.verdict == Verdict::kShort ? "short" : "not short");
    if (seed % 20 == 0) {  // writing takes longer than all else
      EXPECT_FALSE(WriteJson(document).empty());
      EXPECT_EQ(WriteTerminal(document, {.details = true}).find('\x1b'), std::string::npos);
    }
  }
  for (const char* id : {"short", "not short", "usb-no-pictures", "usb-may-be-faster",
                         "usb-link-oversubscribed", "usb-setting-too-small"}) {
    EXPECT_TRUE(seen.contains(id)) << id;  // not all trees are alike
  }
}

}  // namespace
}  // namespace report::testing
