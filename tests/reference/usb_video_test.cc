// SPDX-License-Identifier: Apache-2.0
//
// Video functions and BOS capabilities against lsusb -v (usbutils 014), an independent
// decoder: on the captured machines, and on descriptors of real devices where the shared data is.

#include <algorithm>
#include <set>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/usb/bos.h"
#include "probes/usb/descriptors.h"
#include "probes/usb/tree.h"
#include "tests/reference/usb_answers.h"
#include "tests/reference/usb_video_answers.h"
#include "tests/support/places.h"

namespace {

namespace fs = std::filesystem;

using probes::VideoFunction;
using testing::IsEmpty;
using testing::SizeIs;
using tests::LsusbBlock;

std::string FormatLine(const probes::VideoFormat& format) {
  std::string line = fmt::format("format {} {} frames {} interlaced {}", format.index, format.kind,
                                 format.frames_claimed, format.interlaced ? 1 : 0);
  for (const std::string& raster : format.still_rasters) {
    line += " still " + raster;
  }
  return format.colour.empty() ? line : line + " colour " + format.colour;
}

std::vector<std::string> Lines(const std::vector<VideoFunction>& functions) {
  std::vector<std::string> lines;
  for (const VideoFunction& function : functions) {
    lines.push_back(
        fmt::format("control {} version {}", function.control_interface, function.uvc_version));
    for (const auto& entity : function.entities) {
      lines.push_back(fmt::format("entity {} {} type {:#06x} from {}", entity.id, entity.kind,
                                  entity.terminal_type, fmt::join(entity.sources, ",")));
    }
    for (const auto& stream : function.streams) {
      lines.push_back(fmt::format("stream {} endpoint {:#x} terminal {} still {} formats {}",
                                  stream.interface, stream.endpoint, stream.terminal,
                                  stream.still_method, stream.formats_claimed));
      for (const auto& format : stream.formats) {
        lines.push_back(FormatLine(format));
      }
    }
  }
  return lines;
}

/// Frames that were found, by stream and format, against the modes of the same device.
void ExpectFramesAddUp(const std::vector<VideoFunction>& functions,
                       const std::vector<probes::CaptureMode>& modes) {
  std::size_t frames = 0;
  std::set<int> interfaces;
  for (const VideoFunction& function : functions) {
    for (const auto& stream : function.streams) {
      interfaces.insert(stream.interface);
      for (const auto& format : stream.formats) {
        frames += static_cast<std::size_t>(format.frames);
      }
    }
  }
  EXPECT_THAT(modes, SizeIs(frames));
  for (const auto& mode : modes) {
    EXPECT_TRUE(interfaces.contains(mode.streaming_interface)) << mode.streaming_interface;
  }
}

TEST(VideoBlobs, AgreeWithLsusb) {
  const auto blobs = tests::StoredBlobs();
  if (!blobs) {
    GTEST_SKIP() << "no descriptors of real devices at " << support::Shared();
  }
  EXPECT_FALSE(blobs->empty());
  for (const tests::StoredBlob& blob : *blobs) {
    SCOPED_TRACE(blob.name);
    const auto read = probes::ParseUsbDescriptors(blob.Bytes());
    const auto blocks = tests::ParseLsusbBlocks(blob.lsusb);
    ASSERT_FALSE(blocks.empty());
    const auto expected = tests::VideoLines(blocks, blocks[0].bus, blocks[0].number);
    EXPECT_GE(expected.size(), 5U);  // header, two terminals, a stream, a format
    ASSERT_THAT(read.configurations, SizeIs(1));
    EXPECT_EQ(Lines(read.configurations[0].video_functions), expected);
    ExpectFramesAddUp(read.configurations[0].video_functions, read.configurations[0].modes);
  }
}

class CapturedVideo : public testing::TestWithParam<const char*> {
 protected:
  fs::path Machine() const { return support::Fixtures() / "machines" / GetParam(); }
  std::vector<LsusbBlock> Blocks() const {
    return tests::ParseLsusbBlocks(tests::ReadWhole(Machine() / "ref" / "lsusb-v.txt"));
  }
};

TEST_P(CapturedVideo, FunctionsAreThoseOfLsusb) {
  const auto root = base::MachineRoot::At(Machine());
  ASSERT_TRUE(root);
  const auto usb = probes::ReadUsb(*root);
  const auto blocks = Blocks();
  // lsusb names devices by number only; usb-devices lists them in the order of the tree.
  const auto listed =
      tests::ParseUsbDevices(tests::ReadWhole(Machine() / "ref" / "usb-devices.txt"));
  ASSERT_THAT(usb.devices, SizeIs(listed.size()));
  for (std::size_t i = 0; i < usb.devices.size(); ++i) {
    SCOPED_TRACE(usb.devices[i].path);
    EXPECT_EQ(Lines(usb.devices[i].video_functions),
              tests::VideoLines(blocks, usb.devices[i].bus, listed[i].number));
    ExpectFramesAddUp(usb.devices[i].video_functions, usb.devices[i].modes);
  }
}

// lsusb's own words for each bit.
bool Says(const LsusbBlock& block, const char* words) {
  return block.text.find(words) != std::string::npos;
}

void ExpectSuperSpeedOf(const probes::UsbBos& bos, const LsusbBlock& block) {
  ASSERT_TRUE(bos.super_speed);
  EXPECT_EQ((bos.super_speed->speeds & 2) != 0, Says(block, "operate at Full Speed (12Mbps)"));
  EXPECT_EQ((bos.super_speed->speeds & 4) != 0, Says(block, "operate at High Speed (480Mbps)"));
  EXPECT_EQ(bos.super_speed_mbps.has_value(), Says(block, "operate at SuperSpeed (5Gbps)"));
  EXPECT_EQ(bos.super_speed->least_speed == 1, Says(block, "speed is Full Speed (12Mbps)"));
  EXPECT_EQ(bos.super_speed->u1_exit_us, block.Number("bU1DevExitLat"));
  EXPECT_EQ(bos.super_speed->u2_exit_us, block.Number("bU2DevExitLat"));
}

void ExpectPowerSavingOf(const probes::UsbBos& bos, const LsusbBlock& block) {
  ASSERT_TRUE(bos.power_saving);
  EXPECT_EQ(bos.power_saving->offered, Says(block, "Link Power Management (LPM) Supported"));
  EXPECT_EQ(bos.power_saving->fine_grained, Says(block, "BESL Link Power"));
}

TEST_P(CapturedVideo, CapabilitiesAreThoseOfLsusb) {
  const auto blocks = Blocks();
  std::set<std::pair<int, int>> devices;
  for (const LsusbBlock& block : blocks) {
    if (block.heading == "Binary Object Store Descriptor") {
      devices.emplace(block.bus, block.number);
    }
  }
  ASSERT_FALSE(devices.empty());
  for (const auto& [bus, number] : devices) {
    SCOPED_TRACE(fmt::format("bus {} device {}", bus, number));
    const auto bytes = tests::BosBytes(blocks, bus, number);
    const auto bos = probes::ParseBos(bytes);
    EXPECT_EQ(bos.fault, "");
    std::vector<std::string> names;
    for (const LsusbBlock& block : blocks) {
      if (block.bus != bus || block.number != number) {
        continue;
      }
      if (block.heading == "SuperSpeed USB Device Capability") {
        names.emplace_back("SuperSpeed");
        ExpectSuperSpeedOf(bos, block);
      } else if (block.heading == "USB 2.0 Extension Device Capability") {
        names.emplace_back("USB 2.0 extension");
        ExpectPowerSavingOf(bos, block);
      }
    }
    EXPECT_EQ(bos.capabilities, names);
  }
}

INSTANTIATE_TEST_SUITE_P(Machines, CapturedVideo,
                         testing::Values("1xhci-disk-audio", "2xhci-3capture-shared-hub",
                                         "2xhci-2capture-hub-disk"));

}  // namespace
