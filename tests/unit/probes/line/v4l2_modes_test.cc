// SPDX-License-Identifier: Apache-2.0
//
// What drivers answer, joined to the devices: all, some or none of what descriptors list.

#include "probes/line/v4l2_modes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/line/captured_modes.h"

namespace probes {
namespace {

using ::testing::HasSubstr;
using ::testing::SizeIs;

CaptureMode Mode(const std::string& format, int width, std::vector<std::int64_t> intervals) {
  CaptureMode mode;
  mode.pixel_format = format;
  mode.width = width;
  mode.height = 360;
  mode.intervals_100ns = std::move(intervals);
  return mode;
}

UsbInventory OneCamera() {
  UsbDevice camera;
  camera.path = "1-1";
  camera.role = UsbRole::kCapture;
  camera.video_nodes = {"video0", "video1"};
  camera.modes = {Mode("yuyv422", 640, {333333}), Mode("mjpeg", 1920, {166666})};
  UsbInventory usb;
  usb.devices = {camera};
  return usb;
}

TEST(AddDriverModes, JoinsTheNodesOfADevice) {
  UsbInventory usb = OneCamera();
  AddDriverModes(
      [](const std::string& node) -> base::Result<std::vector<CaptureMode>> {
        return node == "video0" ? std::vector<CaptureMode>{Mode("yuyv422", 640, {400000})}
                                : std::vector<CaptureMode>{};  // the second carries metadata
      },
      usb);
  ASSERT_TRUE(usb.devices[0].driver_modes.known());
  ASSERT_THAT(*usb.devices[0].driver_modes, SizeIs(1));
  EXPECT_EQ(usb.devices[0].driver_modes->front().intervals_100ns,
            std::vector<std::int64_t>{400000});
}

TEST(AddDriverModes, TakesRatesFromTheDescriptorsWhereTheDriverListsNone) {
  UsbInventory usb = OneCamera();
  const auto ask = [](const std::string&) -> base::Result<std::vector<CaptureMode>> {
    return std::vector<CaptureMode>{Mode("mjpeg", 1920, {})};
  };
  AddDriverModes(ask, usb);
  EXPECT_EQ(usb.devices[0].driver_modes->front().intervals_100ns,
            std::vector<std::int64_t>{166666});
  usb.devices[0].modes.clear();
  AddDriverModes(ask, usb);
  EXPECT_THAT(usb.devices[0].driver_modes.why_unknown(), HasSubstr("no rates"));
}

TEST(AddDriverModes, IsUnknownWithTheDriversReason) {
  UsbInventory usb = OneCamera();
  AddDriverModes(
      [](const std::string&) -> base::Result<std::vector<CaptureMode>> {
        return base::Error{base::ErrorKind::kIo, "", "open: Device or resource busy"};
      },
      usb);
  EXPECT_EQ(usb.devices[0].driver_modes.why_unknown(), "video0: open: Device or resource busy");
  usb.devices[0].video_nodes.clear();
  usb.devices[0].driver_modes = {};
  AddDriverModes(
      [](const std::string&) -> base::Result<std::vector<CaptureMode>> {
        ADD_FAILURE() << "a device without a node was asked";
        return std::vector<CaptureMode>{};
      },
      usb);
  EXPECT_FALSE(usb.devices[0].driver_modes.known());
}

TEST(CapturedModes, AnyTextIsTaken) {
  UsbInventory usb = OneCamera();
  const std::string fits = "1-1 640 360 0 400000 yuyv422\n";
  for (const char* line :
       {"1-1", "1-1 ", "1-1 640", "1-1 640 360 0 400000", "1-1 640 360 0 400000 ",
        "1-1 0 360 0 400000 mjpeg", "1-1 640 -1 0 400000 mjpeg", "1-1 640 65536 0 400000 mjpeg",
        "1-1 640 360 0 0 mjpeg", "1-1 640 360 0 1,,2 mjpeg", "1-1 640 360 0 4294967296 mjpeg",
        "1-1 640 360 -1 400000 mjpeg", "1-1 99999999999999999999 1 0 1 x", "1-1 unknown", "",
        "1-1.4 640 360 0 400000 mjpeg", "1-1 640 360 0 400000,x mjpeg"}) {
    AddCapturedModes(std::string(line) + "\n" + fits, usb);
    ASSERT_TRUE(usb.devices[0].driver_modes.known()) << line;
    EXPECT_THAT(*usb.devices[0].driver_modes, SizeIs(1)) << line;
    AddCapturedModes(line, usb);
    EXPECT_THAT(usb.devices[0].driver_modes.why_unknown(), HasSubstr("was captured")) << line;
  }
  std::string many;
  for (int i = 0; i < 20000; ++i) {
    many += fits;
  }
  AddCapturedModes(many, usb);
  EXPECT_LT(usb.devices[0].driver_modes->size(), 10000U);
  AddCapturedModes("1-1 640 360 0 400000 a\x1b[31m\n", usb);
  EXPECT_EQ(usb.devices[0].driver_modes->front().pixel_format.find('\x1b'), std::string::npos);
}

TEST(CapturedModes, OfDevicesThatWereAskedAlone) {
  UsbInventory usb = OneCamera();
  usb.devices[0].driver_modes = base::Reading<std::vector<CaptureMode>>::Unknown("video0: busy");
  EXPECT_EQ(CapturedModesText(usb), "1-1 unknown video0: busy\n");
  UsbInventory back = OneCamera();
  AddCapturedModes(CapturedModesText(usb), back);
  EXPECT_EQ(back.devices[0].driver_modes.why_unknown(), "video0: busy");
  usb.devices[0].video_nodes.clear();
  EXPECT_EQ(CapturedModesText(usb), "");
  usb.devices[0].driver_modes = {};
  AddCapturedModes("1-1 640 360 0 400000 yuyv422\n", usb);
  EXPECT_FALSE(usb.devices[0].driver_modes.known());
}

// A node that is none, or is not there, is a reason and no end of the program.
TEST(AskVideoModes, SaysWhyANodeCannotBeOpened) {
  const auto modes = AskVideoModes("no-such-node");
  ASSERT_FALSE(modes);
  EXPECT_THAT(modes.error().detail, HasSubstr("open: No such file"));
  const auto null = AskVideoModes("null");
  ASSERT_FALSE(null);
  EXPECT_THAT(null.error().detail, HasSubstr("VIDIOC_QUERYCAP"));
}

}  // namespace
}  // namespace probes
