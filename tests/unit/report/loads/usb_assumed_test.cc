// SPDX-License-Identifier: Apache-2.0
//
// Compressed cameras: their payload is assumed, which makes nothing short and is called so.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/demand/demand.h"
#include "report/data/writers.h"
#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

using ::testing::AllOf;
using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;

void AskForMjpeg(profiles::Source& source, profiles::Raster raster, int rate) {
  source.arrives_by = profiles::ArrivesBy::kUsb;
  source.pixel_format = "mjpeg";
  source.raster = raster;
  source.rate = rate;
}

// One camera at high speed whose largest setting holds 24.48 MB/s. 1920x1080 at 60 is 24.88 MB/s
// at 1.6 bits a pixel, which is how far nobody knows that this camera compresses.
Evidence MjpegOnUsb2(int rate = 60) {
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
  devices.push_back(Capture("1-1", "usb1", 1, 480));
  devices.back().interfaces.push_back(devices.back().interfaces.front());
  devices.back().interfaces.back().alternate = 2;
  devices.back().interfaces.back().endpoints[0].bytes_per_interval = 128;
  devices.back().interfaces.back().endpoints[0].max_packet_bytes = 128;
  devices.back().modes = {{.pixel_format = "mjpeg",
                           .width = 1920,
                           .height = 1080,
                           .bits_per_pixel = 0,
                           .intervals_100ns = {166666, 333333},
                           .streaming_interface = 1,
                           .max_frame_bytes = 4147200}};
  evidence.profile.sources.resize(1);
  AskForMjpeg(evidence.profile.sources[0], {1920, 1080}, rate);
  evidence.demand.sources = profiles::SumDemand(evidence.profile).sources;
  return evidence;
}

const Headroom* UsbRowOf(const Document& document, const std::string& part) {
  for (const Headroom& row : document.headroom) {
    if (row.resource == Resource::kUsb && row.item.find(part) != std::string::npos) {
      return &row;
    }
  }
  return nullptr;
}

TEST(AssumedPayload, AboveTheLinkIsUnprovenAndNoStop) {
  const Document document = Assess(MjpegOnUsb2());
  EXPECT_EQ(document.verdict, Verdict::kUnproven) << document.headline;
  ExpectStopsAndVerdictAgree(document);
  EXPECT_EQ(Find(document, "usb-link-oversubscribed"), nullptr);
  EXPECT_EQ(Find(document, "usb-setting-too-small"), nullptr);
  const Headroom* row = UsbRowOf(document, "1-1");
  ASSERT_NE(row, nullptr);
  EXPECT_FALSE(row->capacity);
  EXPECT_EQ(row->basis, Basis::kAssumed);
  EXPECT_THAT(row->source,
              AllOf(HasSubstr("assumed: 1.6 bits a pixel of mjpeg"), HasSubstr("24.4 MB/s")));
  EXPECT_THAT(row->how_to_prove, HasSubstr("line-check"));
}

TEST(AssumedPayload, IsCalledSoWhereverItIsShown) {
  for (const int rate : {30, 60}) {
    Document document = Assess(MjpegOnUsb2(rate));
    const Headroom* row = UsbRowOf(document, "1-1");
    ASSERT_NE(row, nullptr);
    EXPECT_EQ(row->basis, Basis::kAssumed);
    EXPECT_EQ(row->capacity.has_value(), rate == 30);
    EXPECT_THAT(row->source, HasSubstr("assumed"));
    EXPECT_THAT(document.wiring,
                Contains(AllOf(::testing::Field(&WiringNode::path, "1-1"),
                               ::testing::Field(&WiringNode::assumed, true),
                               ::testing::Field(&WiringNode::remark, HasSubstr("assumed")))));
    const std::string json = WriteJson(document);
    EXPECT_THAT(json, HasSubstr("\"basis\": \"assumed\""));
    const std::string text = WriteTerminal(document, {.details = true});
    EXPECT_THAT(text, AllOf(HasSubstr("assumed: usb"), HasSubstr("(assumed)")));
  }
}

TEST(AssumedPayload, StandsInTheEvidenceOfFindings) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  for (profiles::Source& source : evidence.profile.sources) {
    AskForMjpeg(source, {1280, 720}, 30);
  }
  evidence.demand.sources = profiles::SumDemand(evidence.profile).sources;
  const Document document = Assess(evidence);
  const Finding* shared = Find(document, "usb-shared-hub");
  ASSERT_NE(shared, nullptr);
  EXPECT_THAT(WholeText(*shared), AllOf(HasSubstr("5.53 MB/s (assumed: 1.6 bits a pixel of mjpeg)"),
                                        HasSubstr("(partly assumed)")));
}

// Four cameras of 24.88 MB/s assumed behind one hub at high speed.
Evidence FourBehindOneHub() {
  Evidence evidence = MjpegOnUsb2();
  auto& devices = evidence.inventory.usb.devices;
  const probes::UsbDevice camera = devices.back();
  devices.pop_back();
  devices.push_back(Hub("1-1", "usb1", 1, 480));
  const profiles::Source source = evidence.profile.sources[0];
  evidence.profile.sources.clear();
  for (int port = 1; port <= 4; ++port) {
    devices.push_back(camera);
    devices.back().path = "1-1." + std::to_string(port);
    devices.back().parent = "1-1";
    devices.back().port = port;
    evidence.profile.sources.push_back(source);
    evidence.profile.sources.back().name = "Camera " + std::to_string(port);
  }
  evidence.demand.sources = profiles::SumDemand(evidence.profile).sources;
  return evidence;
}

void ExpectUnprovenAndNoLinkOver(const Document& document) {
  EXPECT_EQ(document.verdict, Verdict::kUnproven) << document.headline;
  ExpectStopsAndVerdictAgree(document);
  for (const WiringNode& node : document.wiring) {
    EXPECT_LE(node.used_percent.value_or(0), 100) << node.path;
  }
}

// More than the hub's 40.96 MB/s only by what is assumed is no stop; a fifth that hands over
// 55.3 MB/s for certain is one, and by that figure alone.
TEST(AssumedPayload, BesideACertainOneTheCertainDecides) {
  Evidence evidence = FourBehindOneHub();
  auto& devices = evidence.inventory.usb.devices;
  ExpectUnprovenAndNoLinkOver(Assess(evidence));
  devices.push_back(Capture("1-1.5", "1-1", 1, 480));
  AddSource(evidence, "Camera 5", 55.296e6);
  evidence.demand.sources = profiles::SumDemand(evidence.profile).sources;
  const Document with = Assess(evidence);
  EXPECT_EQ(with.verdict, Verdict::kShort);
  ExpectStopsAndVerdictAgree(with);
  const Headroom* row = UsbRowOf(with, "hub");
  ASSERT_NE(row, nullptr);
  EXPECT_DOUBLE_EQ(row->demand, 1280.0 * 720 * 2 * 30);
  EXPECT_EQ(row->basis, Basis::kComputed);
}

// Universal Serial Bus 2.0, table 5-10: bulk carries 53.25 MB/s at most; 99.5 MB/s are assumed.
TEST(AssumedPayload, ByBulkIsNoStopEither) {
  Evidence evidence = FourBehindOneHub();
  for (probes::UsbDevice& device : evidence.inventory.usb.devices) {
    for (probes::UsbInterface& interface : device.interfaces) {
      for (probes::UsbEndpoint& endpoint : interface.endpoints) {
        endpoint.type = probes::TransferType::kBulk;
      }
    }
  }
  ExpectUnprovenAndNoLinkOver(Assess(evidence));
}

// Common practice: a wireless link carries half of what it signals; that half is no sum.
TEST(AssumedCapacity, OfAWirelessLinkIsNoStop) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.network.links[0].wireless = true;
  evidence.inventory.network.links[0].speed_mbps = 12.0;
  evidence.demand.outputs[1].network_bits_per_second = 6.5e6;
  evidence.profile.outputs[1].url = "rtmp://example.invalid/live";
  const Document document = Assess(evidence);
  EXPECT_EQ(Find(document, "network-slow"), nullptr);
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
  ExpectStopsAndVerdictAgree(document);
}

TEST(AssumedPayload, OnAUsb2CableIsNoStop) {
  Evidence evidence = MjpegOnUsb2();
  AskForMjpeg(evidence.profile.sources[0], {3840, 2160}, 60);  // 99.5 MB/s at 1.6 bits a pixel
  evidence.profile.sources[0].cable.emplace().kind = profiles::CableKind::kUsb2;
  evidence.demand.sources = profiles::SumDemand(evidence.profile).sources;
  const Document document = Assess(evidence);
  EXPECT_EQ(Find(document, "cable-too-slow"), nullptr);
  EXPECT_EQ(document.verdict, Verdict::kUnproven) << document.headline;
  const Headroom* row = UsbRowOf(document, "cable");
  ASSERT_NE(row, nullptr);
  EXPECT_EQ(row->basis, Basis::kAssumed);
}

// A card's link of one lane of generation 1 is less than 2160p60 MJPEG would be at 1.6 bits.
TEST(AssumedPayload, OfACaptureCardIsNoStop) {
  Evidence evidence = GoodEvidence();
  probes::PciDevice card;
  card.address = "0000:04:00.0";
  card.name = "Invented card";
  card.link.speed_gts = card.link.best_speed_gts = 2.5;
  card.link.width = card.link.best_width = 1;
  evidence.inventory.gpu.capture_cards.push_back(card);
  for (profiles::Source& source : evidence.profile.sources) {
    AskForMjpeg(source, {7680, 4320}, 60);
    source.arrives_by = profiles::ArrivesBy::kPcie;
  }
  evidence.demand.sources = profiles::SumDemand(evidence.profile).sources;
  const Document document = Assess(evidence);
  EXPECT_EQ(document.verdict, Verdict::kUnproven) << document.headline;
  ExpectStopsAndVerdictAgree(document);
  EXPECT_EQ(Row(document, "pcie")->basis, Basis::kAssumed);
}

}  // namespace
}  // namespace report::testing
