// SPDX-License-Identifier: Apache-2.0
//
// Capture devices on USB and free ports: modes, nodes, every unknown with its reason.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/rows/machine.h"
#include "tests/support/hostile_document.h"
#include "tests/support/shown_part.h"

namespace report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using tests::InFull;
using tests::InShort;

probes::CaptureMode Mode(const std::string& format, int width, int height) {
  probes::CaptureMode mode;
  mode.pixel_format = format;
  mode.width = width;
  mode.height = height;
  mode.intervals_100ns = {166'666, 333'333};
  return mode;
}

probes::UsbInventory OneCamera() {
  probes::UsbInventory usb;
  usb.present = true;
  usb.nodes_read = true;
  usb.devices.resize(1);
  usb.devices[0].path = "2-1";
  usb.devices[0].product = "Invented camera";
  usb.devices[0].role = probes::UsbRole::kCapture;
  return usb;
}

TEST(CameraPart, NamesTheLargestRasterOfEachFormatAndAllOfThemInTheLongForm) {
  auto usb = OneCamera();
  usb.devices[0].modes = {Mode("yuyv422", 640, 480), Mode("mjpeg", 1280, 720),
                          Mode("mjpeg", 1920, 1080)};
  EXPECT_THAT(InShort(CameraPart(usb)),
              AllOf(HasSubstr("3 modes: yuyv422 up to 640x480 at 60, mjpeg up to 1920x1080 at 60"),
                    Not(HasSubstr("1280x720"))));
  EXPECT_THAT(InFull(CameraPart(usb)), HasSubstr("mjpeg: 1280x720 at 60, 30; 1920x1080 at 60, 30"));
}

TEST(CameraPart, DescriptorsThatWereNotReadAreNoModesOfNone) {
  auto usb = OneCamera();
  usb.devices[0].descriptor_fault = "ends after five bytes";
  EXPECT_THAT(InFull(CameraPart(usb)),
              AllOf(HasSubstr("unknown: ends after five bytes"), Not(HasSubstr("0 modes"))));
}

TEST(CameraPart, NodesThatWereNotReadAreNotNone) {
  auto usb = OneCamera();
  EXPECT_THAT(InFull(CameraPart(usb)), HasSubstr("no video node"));
  usb.nodes_read = base::Reading<bool>::Unknown("why nodes");
  EXPECT_THAT(InFull(CameraPart(usb)),
              AllOf(HasSubstr("video nodes unknown: why nodes"), Not(HasSubstr("no video node"))));
  usb.nodes_read = false;
  EXPECT_THAT(InFull(CameraPart(usb)),
              HasSubstr("video nodes unknown: the system lists none at all"));
  usb.devices[0].video_nodes = {"video0", "video1"};
  EXPECT_THAT(InFull(CameraPart(usb)), HasSubstr("video0, video1"));
}

TEST(CameraPart, ADriverThatIsNotBoundIsNotOneThatIsUnknown) {
  auto usb = OneCamera();
  probes::UsbInterface pictures;
  pictures.interface_class = 0x0e;
  pictures.driver = std::string();
  usb.devices[0].interfaces = {pictures};
  EXPECT_THAT(InFull(CameraPart(usb)), HasSubstr("driver none"));
  usb.devices[0].interfaces[0].driver = base::Reading<std::string>::Unknown("why driver");
  EXPECT_THAT(InFull(CameraPart(usb)), HasSubstr("driver unknown: why driver"));
}

TEST(FreePortPart, CountsPortsByTheSpeedOfTheirHub) {
  auto usb = OneCamera();
  probes::UsbDevice hub;
  hub.path = "usb2";
  hub.role = probes::UsbRole::kHub;
  hub.speed_mbps = 5000;
  hub.port_list.resize(2);
  hub.port_list[0].number = 1;
  hub.port_list[1].number = 2;
  hub.port_list[1].panel = std::string("back");
  usb.devices = {hub};
  EXPECT_THAT(InFull(FreePortPart(usb)), HasSubstr("5 Gb/s 2: usb2 port 1, usb2 port 2 (back)"));
  usb.devices[0].speed_mbps = 0;
  EXPECT_THAT(InFull(FreePortPart(usb)), HasSubstr("speed unknown 2: "));
}

TEST(FreePortPart, PortsThatTheKernelDoesNotShowAreNotNone) {
  EXPECT_THAT(InFull(FreePortPart(OneCamera())),
              HasSubstr("unknown: the kernel shows no ports of the hubs"));
}

TEST(CameraPart, TakesNoEscapeCodesFromNames) {
  for (int number = 0; number < 8; ++number) {
    auto usb = OneCamera();
    probes::UsbDevice& camera = usb.devices[0];
    camera.path = camera.product = camera.vendor = HostileText(number);
    camera.video_nodes = {HostileText(number)};
    camera.modes = {Mode(HostileText(number), 1920, 1080)};
    const std::string text = InFull(CameraPart(usb));
    EXPECT_THAT(text, HasSubstr("up to 1920x1080 at 60"));
    EXPECT_THAT(text, AllOf(Not(HasSubstr("\x1b")), Not(HasSubstr("\xE2\x80\xAE")),
                            Not(HasSubstr("\xFF"))));
  }
}

}  // namespace
}  // namespace report
