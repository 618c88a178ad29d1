// SPDX-License-Identifier: Apache-2.0
//
// What captures stream, worked out by hand: modes, payloads, alternate settings.

#include "report/loads/usb_stream.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/evidence_builder.h"

namespace report::testing {
namespace {

using ::testing::HasSubstr;

// The settings of a high-speed webcam as they are common: 128 to 3 x 1024 bytes.
probes::UsbDevice HighSpeedCamera() {
  probes::UsbDevice device = Capture("1-1", "usb1", 1, 480);
  const probes::UsbInterface pattern = device.interfaces.front();
  device.interfaces.clear();
  for (const auto& [packet, packets] : std::vector<std::pair<int, int>>{
           {128, 1}, {512, 1}, {800, 1}, {800, 2}, {800, 3}, {1024, 3}}) {
    device.interfaces.push_back(pattern);
    device.interfaces.back().alternate = static_cast<int>(device.interfaces.size());
    probes::UsbEndpoint& endpoint = device.interfaces.back().endpoints.front();
    endpoint.max_packet_bytes = packet;
    endpoint.packets_per_interval = packets;
    endpoint.bytes_per_interval = packet * packets;
  }
  device.modes = {{.pixel_format = "yuyv422",
                   .width = 640,
                   .height = 360,
                   .bits_per_pixel = 16,
                   .intervals_100ns = {333333, 666666},
                   .streaming_interface = 1,
                   .max_frame_bytes = 460800},
                  {.pixel_format = "mjpeg",
                   .width = 1920,
                   .height = 1080,
                   .bits_per_pixel = 0,
                   .intervals_100ns = {333333},
                   .streaming_interface = 1,
                   .max_frame_bytes = 4147200}};
  return device;
}

MatchedSource Asked(const std::string& format, profiles::Raster raster, int rate, double bytes) {
  MatchedSource source;
  source.source = "Camera";
  source.device_path = "1-1";
  source.wanted = "asked";
  source.bytes_per_second = bytes;
  source.asked.raster = raster;
  source.asked.rate = rate;
  source.asked.pixel_format = format;
  return source;
}

UsbStream StreamOfOne(const probes::UsbInventory& usb, const MatchedSource* source) {
  SourceMatch match;
  if (source != nullptr) {
    match.sources.push_back(*source);
  }
  const auto streams = StreamsOf(usb, match);
  EXPECT_EQ(streams.size(), 1U);
  return streams.front();
}

// 460800 bytes x 30 / 8000 microframes = 1728, and 12 of header: 1740. Of 128, 512, 800, 1600, 2400
// and 3072 the smallest that holds it is the fifth (uvc_video.c, uvc_video_start_transfer).
TEST(StreamsOf, TakesTheSmallestSettingThatHoldsThePayload) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  const MatchedSource source = Asked("yuyv422", {640, 360}, 30, 460800.0 * 30);
  const UsbStream stream = StreamOfOne(usb, &source);
  EXPECT_TRUE(stream.counted);
  EXPECT_EQ(stream.shown.payload_bytes, 1740);
  EXPECT_EQ(stream.shown.alternate_setting, 5);
  EXPECT_EQ(stream.shown.reserved_bytes, 2400);
  EXPECT_EQ(stream.most.packet_bytes, 800);
  EXPECT_FALSE(stream.shown.assumed);
  EXPECT_THAT(StreamText(stream.shown, 480),
              HasSubstr("alternate setting 5, reserves 2400 bytes in each microframe"));
}

// At 15 pictures: 864 + 12 = 876, which 2 x 800 hold.
TEST(StreamsOf, RunsAtTheSlowestIntervalThatIsFastEnough) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  const MatchedSource source = Asked("yuyv422", {640, 360}, 15, 460800.0 * 15);
  EXPECT_EQ(StreamOfOne(usb, &source).shown.alternate_setting, 4);
}

// Asked for 10 pictures, the camera still runs at 15: 877 bytes, not 588, which 800 would hold.
TEST(StreamsOf, CountsTheRateThatTheDeviceRunsAt) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  const MatchedSource source = Asked("yuyv422", {640, 360}, 10, 460800.0 * 10);
  EXPECT_EQ(StreamOfOne(usb, &source).shown.alternate_setting, 4);
}

// 1280 x 720 x 2 x 30 / 8000 = 6912, and 12: more than 3072, the camera's own limit (EIO).
TEST(StreamsOf, SaysWhenNoSettingIsLargeEnough) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  const MatchedSource source = Asked("yuyv422", {1280, 720}, 30, 55.296e6);
  const UsbStream stream = StreamOfOne(usb, &source);
  EXPECT_EQ(stream.shown.payload_bytes, 6924);
  EXPECT_TRUE(stream.shown.setting_too_small);
  EXPECT_FALSE(stream.shown.alternate_setting);
  EXPECT_DOUBLE_EQ(stream.setting_bytes_per_second, (3072.0 - 12) * 8000);
}

// Linux drivers/media/usb/uvc/uvc_driver.c, uvc_parse_format: "Several UVC chipsets screw up
// dwMaxVideoFrameBufferSize completely. Observed behaviours range from setting the value to 1.1x
// the actual frame size to hardwiring the 16 low bits to 0"; the kernel reckons it from the picture
// for formats without compression. 640 x 360 x 2 x 30 / 8000 + 12 = 1740 whatever stands there.
TEST(StreamsOf, ReckonsPicturesWithoutCompressionByTheirRaster) {
  for (const std::int64_t told :
       {std::int64_t{460800 * 11 / 10}, std::int64_t{0x70000}, std::int64_t{1},
        std::int64_t{614400}, std::int64_t{0xffffffff}}) {
    probes::UsbInventory usb;
    usb.devices = {HighSpeedCamera()};
    usb.devices[0].modes[0].max_frame_bytes = told;
    const MatchedSource source = Asked("yuyv422", {640, 360}, 30, 460800.0 * 30);
    const UsbStream stream = StreamOfOne(usb, &source);
    EXPECT_EQ(stream.shown.payload_bytes, 1740) << told;
    EXPECT_FALSE(stream.shown.setting_too_small) << told;
    usb.devices[0].modes.pop_back();
    EXPECT_DOUBLE_EQ(StreamOfOne(usb, nullptr).shown.bytes_per_second, 460800 * 1e7 / 333333)
        << told;
  }
}

// A raw format without a name of ours: by its bits a pixel. 640 x 360 x 8 / 8 x 30 / 8000 + 12.
TEST(StreamsOf, ReckonsAnUnknownRawFormatByItsBits) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  usb.devices[0].modes.pop_back();
  usb.devices[0].modes[0].pixel_format = "Z99 ";
  usb.devices[0].modes[0].bits_per_pixel = 8;
  usb.devices[0].modes[0].max_frame_bytes = 9'999'999;
  const UsbStream stream = StreamOfOne(usb, nullptr);
  EXPECT_EQ(stream.shown.payload_bytes, 877);  // 864.0009, rounded up, and 12
  EXPECT_FALSE(stream.shown.assumed);
}

// Compressed: its largest picture would need 15564 bytes, but no device asks for more than its
// largest setting; how little it asks for nobody knows, but its smallest setting is the least.
TEST(StreamsOf, KnowsCompressedStreamsBetweenTwoBounds) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  const MatchedSource source = Asked("mjpeg", {1920, 1080}, 30, 6.2e6);
  const UsbStream stream = StreamOfOne(usb, &source);
  EXPECT_TRUE(stream.shown.assumed);
  EXPECT_FALSE(stream.shown.setting_too_small);
  EXPECT_EQ(stream.most.bytes, 3072);
  EXPECT_EQ(stream.least.bytes, 128);
  EXPECT_EQ(stream.shown.alternate_setting, 6);
}

TEST(StreamsOf, ShowsTheHeaviestModeOfAnIdleDeviceUncounted) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  usb.devices[0].modes.pop_back();
  const UsbStream stream = StreamOfOne(usb, nullptr);
  EXPECT_FALSE(stream.counted);
  EXPECT_EQ(stream.shown.source, "");
  EXPECT_EQ(stream.shown.mode, "640x360 yuyv422 at 30");
  EXPECT_EQ(stream.shown.alternate_setting, 5);
  EXPECT_THAT(StreamText(stream.shown, 480), HasSubstr("no source uses it"));
}

TEST(StreamsOf, BulkReservesNothing) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  usb.devices[0].interfaces.resize(1);
  usb.devices[0].interfaces[0].alternate = 0;
  usb.devices[0].interfaces[0].endpoints[0].type = probes::TransferType::kBulk;
  usb.devices[0].interfaces[0].endpoints[0].bytes_per_interval = 0;
  const MatchedSource source = Asked("yuyv422", {640, 360}, 30, 460800.0 * 30);
  const UsbStream stream = StreamOfOne(usb, &source);
  EXPECT_FALSE(stream.Isochronous());
  EXPECT_EQ(stream.shown.reserved_bytes, 0);
  EXPECT_EQ(stream.TimeOn(480, UsbScheduler::kEhci).most_us, 0);
  EXPECT_THAT(StreamText(stream.shown, 480), HasSubstr("bulk"));
}

TEST(StreamsOf, ASecondStreamingInterfaceIsNotMistakenForTheFirst) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  usb.devices[0].interfaces.push_back(usb.devices[0].interfaces.back());
  usb.devices[0].interfaces.back().number = 3;
  usb.devices[0].interfaces.back().endpoints[0].bytes_per_interval = 1800;
  const MatchedSource source = Asked("yuyv422", {640, 360}, 30, 460800.0 * 30);
  EXPECT_EQ(StreamOfOne(usb, &source).shown.reserved_bytes, 2400);
}

TEST(StreamsOf, SurvivesNumbersThatCannotBe) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  auto& device = usb.devices[0];
  device.modes[0].intervals_100ns = {0, -5};
  device.modes[0].max_frame_bytes = -1;
  device.modes[1].width = -7;
  for (auto& interface : device.interfaces) {
    interface.endpoints[0].bytes_per_interval = -1;
    interface.endpoints[0].interval = 200;
  }
  const MatchedSource source = Asked("yuyv422", {640, 360}, 30, 13.8e6);
  EXPECT_EQ(StreamOfOne(usb, &source).shown.alternate_setting, std::nullopt);
  EXPECT_GE(StreamOfOne(usb, nullptr).shown.reserved_bytes, 0);
}

TEST(StreamsOf, TellWhatTheyAssume) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  const MatchedSource source = Asked("mjpeg", {1920, 1080}, 60, 24.8832e6);
  const UsbStream stream = StreamOfOne(usb, &source);
  EXPECT_EQ(stream.assumption, "1.6 bits a pixel of mjpeg");
  EXPECT_EQ(AskedText({stream}, usb.devices[0]), "24.9 MB/s (assumed: 1.6 bits a pixel of mjpeg)");
  EXPECT_THAT(StreamText(stream.shown, 480), HasSubstr("about 24.9 MB/s assumed"));
  EXPECT_FALSE(stream.shown.setting_too_small);  // it compresses until its setting holds it
}

// At SuperSpeed its high-speed settings say nothing: whole packets for what is needed.
TEST(AtSpeed, ReservesWhatIsNeededWhereSettingsAreNotKnown) {
  probes::UsbInventory usb;
  usb.devices = {HighSpeedCamera()};
  const MatchedSource source = Asked("yuyv422", {640, 360}, 30, 460800.0 * 30);
  const UsbStream fast = AtSpeed(StreamOfOne(usb, &source), 5000);
  EXPECT_EQ(fast.most.bytes, 1740);
  EXPECT_EQ(fast.shown.alternate_setting, std::nullopt);
  EXPECT_EQ(fast.setting_bytes_per_second, 0);
}

}  // namespace
}  // namespace report::testing
