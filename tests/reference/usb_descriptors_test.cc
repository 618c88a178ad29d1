// SPDX-License-Identifier: Apache-2.0
//
// ParseUsbDescriptors against lsusb -v (usbutils 014), an independent decoder: on the
// captured machines, and on descriptors of real devices where the shared data is there.

#include <algorithm>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/usb/descriptors.h"
#include "probes/usb/tree.h"
#include "tests/reference/usb_answers.h"
#include "tests/support/places.h"

namespace {

namespace fs = std::filesystem;

using probes::TransferType;
using testing::SizeIs;
using tests::DecodedDevice;
using tests::EndpointAnswer;
using tests::FrameAnswer;

std::string TypeName(TransferType type) {
  switch (type) {
    case TransferType::kControl:
      return "Control";
    case TransferType::kIsochronous:
      return "Isochronous";
    case TransferType::kBulk:
      return "Bulk";
    default:
      return "Interrupt";
  }
}

std::vector<EndpointAnswer> Endpoints(const std::vector<probes::UsbInterface>& interfaces) {
  std::vector<EndpointAnswer> endpoints;
  for (const auto& interface : interfaces) {
    for (const auto& endpoint : interface.endpoints) {
      endpoints.push_back({endpoint.address, TypeName(endpoint.type), endpoint.packets_per_interval,
                           endpoint.max_packet_bytes, endpoint.interval, endpoint.max_burst,
                           endpoint.mult});
    }
  }
  return endpoints;
}

/// GUIDs of the formats that the answers hold, under our names.
std::string OurFormat(const std::string& answer) {
  const std::string tail = "-0000-0010-8000-00aa00389b71";
  if (!answer.ends_with(tail)) {
    return answer;
  }
  const auto code = static_cast<std::uint32_t>(std::stoul(answer.substr(0, 8), nullptr, 16));
  std::string fourcc;
  for (const unsigned shift : {0U, 8U, 16U, 24U}) {
    fourcc += static_cast<char>((code >> shift) & 0xffU);
  }
  // FFmpeg 5.1's names (libavutil/pixdesc.c, libavcodec/codec_desc.c) of these four characters.
  static const std::vector<std::pair<std::string, std::string>> names = {
      {"YUY2", "yuyv422"}, {"NV12", "nv12"}, {"H264", "h264"}, {"H265", "hevc"}};
  const auto found = std::ranges::find(names, fourcc, &std::pair<std::string, std::string>::first);
  return found == names.end() ? fourcc : found->second;
}

std::vector<FrameAnswer> Expected(const DecodedDevice& decoded) {
  std::vector<FrameAnswer> frames = decoded.frames;
  for (FrameAnswer& frame : frames) {
    frame.format = OurFormat(frame.format);
    std::ranges::sort(frame.intervals_100ns);
  }
  return frames;
}

std::vector<FrameAnswer> Frames(const std::vector<probes::CaptureMode>& modes) {
  std::vector<FrameAnswer> frames;
  frames.reserve(modes.size());
  for (const auto& mode : modes) {
    frames.push_back({mode.pixel_format, mode.width, mode.height, mode.intervals_100ns,
                      mode.min_bits_per_second, mode.max_bits_per_second, mode.max_frame_bytes});
  }
  return frames;
}

TEST(DescriptorBlobs, AgreeWithLsusb) {
  const auto blobs = tests::StoredBlobs();
  if (!blobs) {
    GTEST_SKIP() << "no descriptors of real devices at " << support::Shared();
  }
  EXPECT_FALSE(blobs->empty());
  for (const tests::StoredBlob& blob : *blobs) {
    SCOPED_TRACE(blob.name);
    const auto read = probes::ParseUsbDescriptors(blob.Bytes());
    const auto decoded = tests::ParseLsusbVerbose(blob.lsusb);
    ASSERT_THAT(decoded, SizeIs(1));
    ASSERT_TRUE(read.device);
    EXPECT_EQ(read.device->vendor_id, decoded[0].vendor_id);
    EXPECT_EQ(read.device->product_id, decoded[0].product_id);
    EXPECT_EQ(read.fault, "");
    ASSERT_THAT(read.configurations, SizeIs(1));
    const auto& configuration = read.configurations[0];
    EXPECT_THAT(configuration.interfaces, SizeIs(static_cast<std::size_t>(decoded[0].interfaces)));
    EXPECT_THAT(configuration.associations,
                SizeIs(static_cast<std::size_t>(decoded[0].associations)));
    EXPECT_FALSE(decoded[0].frames.empty());
    EXPECT_EQ(Frames(configuration.modes), Expected(decoded[0]));
    EXPECT_EQ(Endpoints(configuration.interfaces), decoded[0].endpoints);
  }
}

class CapturedDescriptors : public testing::TestWithParam<const char*> {};

TEST_P(CapturedDescriptors, AgreeWithLsusb) {
  const fs::path machine = support::Fixtures() / "machines" / GetParam();
  const auto root = base::MachineRoot::At(machine);
  ASSERT_TRUE(root);
  const auto usb = probes::ReadUsb(*root);
  const auto decoded = tests::ParseLsusbVerbose(tests::ReadWhole(machine / "ref" / "lsusb-v.txt"));
  // lsusb names devices by number only; usb-devices lists them in the order of the tree.
  const auto listed = tests::ParseUsbDevices(tests::ReadWhole(machine / "ref" / "usb-devices.txt"));
  ASSERT_THAT(usb.devices, SizeIs(decoded.size()));
  ASSERT_THAT(usb.devices, SizeIs(listed.size()));
  for (std::size_t i = 0; i < usb.devices.size(); ++i) {
    const auto& device = usb.devices[i];
    SCOPED_TRACE(device.path);
    const auto answer = std::ranges::find_if(decoded, [&](const DecodedDevice& d) {
      return d.bus == device.bus && d.number == listed[i].number;
    });
    ASSERT_NE(answer, decoded.end());
    EXPECT_EQ(Frames(device.modes), Expected(*answer));
    EXPECT_EQ(Endpoints(device.interfaces), answer->endpoints);
  }
}

INSTANTIATE_TEST_SUITE_P(Machines, CapturedDescriptors,
                         testing::Values("1xhci-disk-audio", "2xhci-3capture-shared-hub",
                                         "2xhci-2capture-hub-disk"));

}  // namespace
