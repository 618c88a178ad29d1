// SPDX-License-Identifier: Apache-2.0

#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/usb/descriptors.h"
#include "probes/usb/uvc_formats.h"
#include "tests/support/usb_made_descriptors.h"

namespace {

using probes::VideoFunction;
using probes::VideoStream;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;
using tests::Blob;
using tests::Join;

probes::UsbDescriptors Read(const Blob& body) {
  return probes::ParseUsbDescriptors(
      Join({tests::DeviceBytes(0x0200, 64),
            tests::ConfigurationBytes(static_cast<std::uint32_t>(9 + body.size())), body}));
}

std::vector<VideoFunction> Functions(const Blob& body) {
  const auto read = Read(body);
  return read.configurations.empty() ? std::vector<VideoFunction>()
                                     : read.configurations[0].video_functions;
}

Blob Control(std::uint8_t interface) {
  return tests::InterfaceBytes(interface, 0, 0x0e, 1);
}
Blob Streaming(std::uint8_t interface, std::uint8_t alternate = 0) {
  return tests::InterfaceBytes(interface, alternate, 0x0e, 2);
}

/// The one stream of one streaming interface that holds `streaming`.
VideoStream OnlyStream(const Blob& streaming) {
  const auto functions = Functions(Join({Control(0), Streaming(1), streaming}));
  if (functions.size() != 1 || functions[0].streams.size() != 1) {
    ADD_FAILURE() << "not one stream";
    return {};
  }
  return functions[0].streams[0];
}

// Layouts of terminals and units: UVC 1.5, tables 3-3 to 3-9.
TEST(VideoFunction, HasItsTerminalsAndUnits) {
  Blob extension = tests::VideoBytes(26, 0x06);
  extension[3] = 4;
  extension[21] = 2;
  extension[22] = 3;
  extension[23] = 2;
  const auto functions = Functions(Join({Control(0),
                                         tests::ControlHeaderBytes(1, {1}),
                                         tests::CameraBytes(1),
                                         {8, 0x24, 0x02, 7, 0x01, 0x04, 0, 0},
                                         {8, 0x24, 0x04, 2, 2, 1, 7, 0},
                                         {12, 0x24, 0x05, 3, 2, 0, 0, 2, 0, 0, 0, 0},
                                         extension,
                                         {13, 0x24, 0x07, 5, 4, 0, 3, 0, 0, 0, 0, 0, 0},
                                         tests::OutputTerminalBytes(6, 5)}));
  ASSERT_THAT(functions, SizeIs(1));
  EXPECT_EQ(functions[0].control_interface, 0);
  EXPECT_EQ(functions[0].uvc_version, "1.10");
  const auto& entities = functions[0].entities;
  ASSERT_THAT(entities, SizeIs(7));
  EXPECT_EQ(entities[0].kind, "camera");
  EXPECT_EQ(entities[0].terminal_type, 0x0201);
  EXPECT_THAT(entities[0].sources, IsEmpty());
  EXPECT_EQ(entities[1].kind, "input");
  EXPECT_EQ(entities[1].terminal_type, 0x0401);  // composite connector
  EXPECT_EQ(entities[2].kind, "selector");
  EXPECT_THAT(entities[2].sources, ElementsAre(1, 7));
  EXPECT_EQ(entities[3].kind, "processing");
  EXPECT_THAT(entities[3].sources, ElementsAre(2));
  EXPECT_EQ(entities[4].kind, "extension");
  EXPECT_THAT(entities[4].sources, ElementsAre(3, 2));
  EXPECT_EQ(entities[5].kind, "encoding");
  EXPECT_EQ(entities[6].kind, "usb output");
  EXPECT_EQ(entities[6].id, 6);
  EXPECT_THAT(entities[6].sources, ElementsAre(5));
}

TEST(VideoFunction, CountsThatLieAreHeldToWhatIsThere) {
  const auto read = Read(
      Join({Control(0), tests::ControlHeaderBytes(200, {1, 2}), {8, 0x24, 0x04, 2, 250, 1, 7, 0}}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  const auto& functions = read.configurations[0].video_functions;
  ASSERT_THAT(functions, SizeIs(1));
  ASSERT_THAT(functions[0].entities, SizeIs(1));
  EXPECT_THAT(functions[0].entities[0].sources, ElementsAre(1, 7, 0));
  EXPECT_THAT(read.fault, HasSubstr("streaming interfaces that it counts"));
}

TEST(VideoFunction, TooShortUnitsAreLeftOutAndTold) {
  const auto read = Read(Join({Control(0), {5, 0x24, 0x02, 1, 1}, tests::CameraBytes(2)}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  ASSERT_THAT(read.configurations[0].video_functions, SizeIs(1));
  EXPECT_THAT(read.configurations[0].video_functions[0].entities, SizeIs(1));
  EXPECT_THAT(read.fault, HasSubstr("input terminal or unit is too short"));
}

TEST(VideoFunction, TwoStreamingInterfacesStayApart) {
  const Blob body =
      Join({Control(0), tests::ControlHeaderBytes(2, {1, 2}), Streaming(1),
            tests::StreamHeaderBytes(1, 0x81, 3, 0), tests::FormatBytes(0x04, "YUY2", 16, 1),
            tests::FrameBytes(0x05, 640, 480, 1, {333333}), Streaming(2),
            tests::StreamHeaderBytes(1, 0x82, 4, 0), tests::FrameBytes(0x05, 640, 480, 1, {333333}),
            tests::MjpegFormatBytes(), tests::FrameBytes(0x07, 1920, 1080, 1, {166666})});
  const auto read = Read(body);
  ASSERT_THAT(read.configurations, SizeIs(1));
  const auto& functions = read.configurations[0].video_functions;
  ASSERT_THAT(functions, SizeIs(1));
  ASSERT_THAT(functions[0].streams, SizeIs(2));
  EXPECT_EQ(functions[0].streams[0].interface, 1);
  EXPECT_EQ(functions[0].streams[0].endpoint, 0x81);
  EXPECT_EQ(functions[0].streams[0].terminal, 3);
  EXPECT_EQ(functions[0].streams[1].interface, 2);
  EXPECT_EQ(functions[0].streams[1].endpoint, 0x82);
  // The frame behind the second header belongs to no format: not to that of the first stream.
  const auto& modes = read.configurations[0].modes;
  ASSERT_THAT(modes, SizeIs(2));
  EXPECT_EQ(modes[0].streaming_interface, 1);
  EXPECT_EQ(modes[1].streaming_interface, 2);
  EXPECT_EQ(modes[1].pixel_format, "mjpeg");
  EXPECT_THAT(read.fault, HasSubstr("belongs to no format"));
}

TEST(VideoFunction, StreamsGoToTheControlThatListsThem) {
  const auto functions =
      Functions(Join({Control(0), tests::ControlHeaderBytes(1, {3}), Control(2),
                      tests::ControlHeaderBytes(1, {1}), Streaming(1), Streaming(3)}));
  ASSERT_THAT(functions, SizeIs(2));
  ASSERT_THAT(functions[0].streams, SizeIs(1));
  EXPECT_EQ(functions[0].streams[0].interface, 3);
  ASSERT_THAT(functions[1].streams, SizeIs(1));
  EXPECT_EQ(functions[1].streams[0].interface, 1);
}

TEST(VideoFunction, AnUnlistedStreamGoesToTheControlBeforeIt) {
  const auto functions =
      Functions(Join({Control(0), tests::ControlHeaderBytes(0, {}), Streaming(1), Control(2),
                      tests::ControlHeaderBytes(0, {}), Streaming(3)}));
  ASSERT_THAT(functions, SizeIs(2));
  EXPECT_THAT(functions[0].streams, SizeIs(1));
  EXPECT_THAT(functions[1].streams, SizeIs(1));
}

TEST(VideoFunction, AStreamWithoutAnyControlIsKept) {
  const auto functions = Functions(Join({Streaming(1), tests::MjpegFormatBytes()}));
  ASSERT_THAT(functions, SizeIs(1));
  EXPECT_EQ(functions[0].control_interface, -1);
  EXPECT_THAT(functions[0].streams, SizeIs(1));
}

TEST(VideoFunction, FormatsAreTakenFromOneAlternateSettingOnly) {
  const Blob formats =
      Join({tests::MjpegFormatBytes(), tests::FrameBytes(0x07, 640, 480, 1, {333333})});
  const auto read = Read(Join({Control(0), Streaming(1, 0), formats, Streaming(1, 1), formats}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  EXPECT_THAT(read.configurations[0].modes, SizeIs(1));
  // Where the first setting has none, the next one's count.
  const auto later = Read(Join({Control(0), Streaming(1, 0), Streaming(1, 1), formats}));
  ASSERT_THAT(later.configurations, SizeIs(1));
  EXPECT_THAT(later.configurations[0].modes, SizeIs(1));
}

TEST(VideoStream, TellsFormatsWithoutFrames) {
  Blob stream_based = tests::VideoBytes(24, 0x12);
  stream_based[3] = 3;
  const Blob guid = tests::FormatBytes(0x04, "H264", 0, 0);
  std::copy(guid.begin() + 5, guid.begin() + 21, stream_based.begin() + 4);
  const auto stream = OnlyStream(
      Join({{7, 0x24, 0x0a, 1, 0, 188, 188}, {9, 0x24, 0x0c, 2, 0, 0, 0, 0, 0}, stream_based}));
  ASSERT_THAT(stream.formats, SizeIs(3));
  EXPECT_EQ(stream.formats[0].kind, "mpeg2-ts");
  EXPECT_EQ(stream.formats[1].kind, "dv");
  EXPECT_EQ(stream.formats[1].index, 2);
  EXPECT_EQ(stream.formats[2].kind, "stream based");
  EXPECT_EQ(stream.formats[2].pixel_format, "h264");
}

TEST(VideoStream, CountsClaimedAndFoundFrames) {
  const auto stream = OnlyStream(
      Join({tests::StreamHeaderBytes(9, 0x83, 5, 2), tests::FormatBytes(0x04, "NV12", 12, 200),
            tests::FrameBytes(0x05, 1280, 720, 1, {333333})}));
  EXPECT_EQ(stream.formats_claimed, 9);
  EXPECT_EQ(stream.still_method, 2);
  ASSERT_THAT(stream.formats, SizeIs(1));
  EXPECT_EQ(stream.formats[0].frames_claimed, 200);
  EXPECT_EQ(stream.formats[0].frames, 1);
  EXPECT_EQ(stream.formats[0].pixel_format, "nv12");
}

// UVC 1.5, tables 3-17 (still image) and 3-19 (colour): 1 BT.709, 4 SMPTE 170M / BT.601.
TEST(VideoStream, HasStillRastersAndColour) {
  Blob format = tests::FormatBytes(0x04, "YUY2", 16, 1);
  format[25] = 1;  // bmInterlaceFlags
  const auto stream =
      OnlyStream(Join({format,
                       tests::FrameBytes(0x05, 1280, 720, 1, {333333}),
                       {14, 0x24, 0x03, 0, 2, 0x80, 0x07, 0x38, 0x04, 0x00, 0x0f, 0x70, 0x08, 0},
                       tests::ColourBytes(1, 1, 4)}));
  ASSERT_THAT(stream.formats, SizeIs(1));
  EXPECT_TRUE(stream.formats[0].interlaced);
  EXPECT_THAT(stream.formats[0].still_rasters, ElementsAre("1920x1080", "3840x2160"));
  EXPECT_EQ(stream.formats[0].colour, "BT.709 / BT.709 / BT.601");
}

TEST(VideoStream, StillImagesThatCountTooManyKeepThoseThere) {
  const auto stream = OnlyStream(
      Join({tests::MjpegFormatBytes(), {10, 0x24, 0x03, 0, 255, 0x80, 0x07, 0x38, 0x04, 0}}));
  ASSERT_THAT(stream.formats, SizeIs(1));
  EXPECT_THAT(stream.formats[0].still_rasters, ElementsAre("1920x1080"));
}

TEST(UvcColour, ReservedValuesAreTold) {
  EXPECT_EQ(probes::UvcColour(tests::ColourBytes(0, 7, 200)), "unspecified / sRGB / reserved");
}

}  // namespace
