// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/uvc_descriptors.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/usb/descriptors.h"
#include "probes/usb/uvc_formats.h"
#include "tests/support/usb_made_descriptors.h"

namespace {

using probes::CaptureMode;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;
using tests::Blob;
using tests::Join;

probes::UsbDescriptors WithStreaming(const Blob& streaming) {
  const Blob body = Join({tests::InterfaceBytes(1, 0, 0x0e, 2), streaming});
  return probes::ParseUsbDescriptors(
      Join({tests::DeviceBytes(0x0200, 64),
            tests::ConfigurationBytes(static_cast<std::uint32_t>(9 + body.size())), body}));
}

std::vector<CaptureMode> Modes(const Blob& streaming) {
  const auto read = WithStreaming(streaming);
  return read.configurations.empty() ? std::vector<CaptureMode>() : read.configurations[0].modes;
}

TEST(UvcModes, ReadsFormatsFramesAndIntervals) {
  const auto modes = Modes(Join(
      {tests::FormatBytes(0x04, "YUY2", 16, 2),
       tests::FrameBytes(0x05, 1920, 1080, 2, {333333, 166666}),
       tests::FrameBytes(0x05, 640, 480, 1, {333333}), tests::MjpegFormatBytes(),
       tests::FrameBytes(0x07, 3840, 2160, 1, {333333}), tests::FormatBytes(0x10, "H264", 16, 1),
       tests::FrameBytes(0x11, 1280, 720, 1, {166666})}));
  ASSERT_THAT(modes, SizeIs(4));
  EXPECT_EQ(modes[0].pixel_format, "yuyv422");
  EXPECT_EQ(modes[0].bits_per_pixel, 16);
  EXPECT_EQ(modes[0].width, 1920);
  EXPECT_EQ(modes[0].height, 1080);
  EXPECT_THAT(modes[0].intervals_100ns, ElementsAre(166666, 333333));
  EXPECT_EQ(modes[1].height, 480);
  EXPECT_EQ(modes[2].pixel_format, "mjpeg");
  EXPECT_EQ(modes[2].bits_per_pixel, 0);
  EXPECT_EQ(modes[3].pixel_format, "h264");
  EXPECT_EQ(modes[3].bits_per_pixel, 0);
  EXPECT_THAT(modes[3].intervals_100ns, ElementsAre(166666));
}

TEST(UvcModes, CountsThatLieAreNotBelieved) {
  const auto modes = Modes(Join({tests::FormatBytes(0x04, "NV12", 12, 200),
                                 tests::FrameBytes(0x05, 1280, 720, 1, {333333}),
                                 tests::FrameBytes(0x05, 640, 480, 1, {333333})}));
  EXPECT_THAT(modes, SizeIs(2));
}

TEST(UvcModes, AFrameThatCountsTooManyIntervalsKeepsThoseThere) {
  const auto read =
      WithStreaming(Join({tests::FormatBytes(0x04, "NV12", 12, 1),
                          tests::FrameBytes(0x05, 1280, 720, 255, {333333, 400000})}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  ASSERT_THAT(read.configurations[0].modes, SizeIs(1));
  EXPECT_THAT(read.configurations[0].modes[0].intervals_100ns, ElementsAre(333333, 400000));
  EXPECT_THAT(read.fault, HasSubstr("lacks some of the intervals"));
}

TEST(UvcModes, ARangeGivesItsTwoEnds) {
  const auto modes = Modes(Join({tests::FormatBytes(0x04, "UYVY", 16, 1),
                                 tests::FrameBytes(0x05, 1280, 720, 0, {166666, 2000000, 1})}));
  ASSERT_THAT(modes, SizeIs(1));
  EXPECT_EQ(modes[0].pixel_format, "uyvy422");
  EXPECT_THAT(modes[0].intervals_100ns, ElementsAre(166666, 2000000));
}

TEST(UvcModes, AnIntervalOfNothingIsNoInterval) {
  const auto modes = Modes(Join({tests::FormatBytes(0x04, "UYVY", 16, 1),
                                 tests::FrameBytes(0x05, 1280, 720, 2, {0, 333333})}));
  ASSERT_THAT(modes, SizeIs(1));
  EXPECT_THAT(modes[0].intervals_100ns, ElementsAre(333333));
}

TEST(UvcModes, FramesOfAnotherFormatOrOfNoneAreLeftOut) {
  const auto read =
      WithStreaming(Join({tests::FrameBytes(0x05, 640, 480, 1, {333333}), tests::MjpegFormatBytes(),
                          tests::FrameBytes(0x05, 640, 480, 1, {333333})}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  EXPECT_THAT(read.configurations[0].modes, IsEmpty());
  EXPECT_THAT(read.fault, HasSubstr("belongs to no format"));
}

TEST(UvcModes, AFrameWithoutARasterIsLeftOut) {
  EXPECT_THAT(Modes(Join({tests::MjpegFormatBytes(), tests::FrameBytes(0x07, 0, 480, 1, {1})})),
              IsEmpty());
}

TEST(UvcModes, OnlyVideoStreamingInterfacesHaveThem) {
  const Blob body = Join({tests::InterfaceBytes(1, 0, 0x01, 2), tests::MjpegFormatBytes(),
                          tests::FrameBytes(0x07, 640, 480, 1, {333333})});
  const auto read = probes::ParseUsbDescriptors(
      Join({tests::DeviceBytes(0x0200, 64),
            tests::ConfigurationBytes(static_cast<std::uint32_t>(9 + body.size())), body}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  EXPECT_THAT(read.configurations[0].modes, IsEmpty());
}

TEST(UvcModes, CarryRatesSizesAndTheirInterface) {
  Blob frame = tests::FrameBytes(0x05, 1920, 1080, 1, {333333});
  // dwMinBitRate, dwMaxBitRate, dwMaxVideoFrameBufferSize: UVC 1.5 uncompressed payload, table 3-2.
  for (std::size_t i = 0; i < 4; ++i) {
    frame[9 + i] = tests::Low(497664000U >> (8 * i));
    frame[13 + i] = tests::Low(995328000U >> (8 * i));
    frame[17 + i] = tests::Low(4147200U >> (8 * i));
  }
  const auto modes = Modes(Join({tests::FormatBytes(0x04, "YUY2", 16, 1), frame}));
  ASSERT_THAT(modes, SizeIs(1));
  EXPECT_EQ(modes[0].streaming_interface, 1);
  EXPECT_EQ(modes[0].min_bits_per_second, 497664000);
  EXPECT_EQ(modes[0].max_bits_per_second, 995328000);
  EXPECT_EQ(modes[0].max_frame_bytes, 4147200);
  EXPECT_EQ(modes[0].interval_step_100ns, 0);
}

TEST(UvcModes, ARangeHasItsStep) {
  const auto step = [](std::uint32_t written) {
    const auto modes =
        Modes(Join({tests::FormatBytes(0x04, "UYVY", 16, 1),
                    tests::FrameBytes(0x05, 1280, 720, 0, {166666, 666664, written})}));
    return modes.size() == 1 ? modes[0].interval_step_100ns : -1;
  };
  EXPECT_EQ(step(166666), 166666);
  EXPECT_EQ(step(0), 1);  // no steps: any interval between the ends
}

TEST(UvcModes, ARangeOfOneIntervalHasNoSteps) {
  const auto modes = Modes(Join({tests::FormatBytes(0x04, "UYVY", 16, 1),
                                 tests::FrameBytes(0x05, 1280, 720, 0, {333333, 333333, 1})}));
  ASSERT_THAT(modes, SizeIs(1));
  EXPECT_THAT(modes[0].intervals_100ns, ElementsAre(333333));
  EXPECT_EQ(modes[0].interval_step_100ns, 0);
}

// UVC 1.5, H.264 payload: frame descriptor of 44 bytes and its intervals.
TEST(UvcModes, ReadsFramesOfTheH264Payload) {
  Blob format = tests::VideoBytes(52, 0x13);
  format[3] = 1;
  format[4] = 1;
  Blob frame = tests::VideoBytes(48, 0x14);
  frame[4] = tests::Low(1920);
  frame[5] = tests::High(1920);
  frame[6] = tests::Low(1080);
  frame[7] = tests::High(1080);
  frame[35] = 0x80;
  frame[36] = 0x96;
  frame[37] = 0x98;  // 10,000,000 b/s at most
  frame[43] = 1;
  for (std::size_t i = 0; i < 4; ++i) {
    frame[44 + i] = tests::Low(333333U >> (8 * i));
  }
  const auto modes = Modes(Join({format, frame}));
  ASSERT_THAT(modes, SizeIs(1));
  EXPECT_EQ(modes[0].pixel_format, "h264");
  EXPECT_EQ(modes[0].width, 1920);
  EXPECT_EQ(modes[0].height, 1080);
  EXPECT_EQ(modes[0].max_bits_per_second, 10000000);
  EXPECT_THAT(modes[0].intervals_100ns, ElementsAre(333333));
}

TEST(UvcPixelFormat, NamesWhatItKnowsAndSpellsOutTheRest) {
  const auto guid = [](std::string_view fourcc) {
    const Blob format = tests::FormatBytes(0x04, fourcc, 8, 0);
    return probes::UvcPixelFormat(std::span(format).subspan(5, 16));
  };
  EXPECT_EQ(guid("NV12"), "nv12");
  EXPECT_EQ(guid("P010"), "p010") << "a profile's name for it: sources are found by that";
  EXPECT_EQ(guid("Q7Z9"), "q7z9");
  EXPECT_EQ(guid(std::string_view("\x01\x02\x03\x04", 4)), "04030201-0000-0010-8000-00aa00389b71");
  const Blob other{0x10, 0x32, 0x54, 0x76, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12};
  EXPECT_EQ(probes::UvcPixelFormat(other), "76543210-0201-0403-0506-0708090a0b0c");
}

}  // namespace
