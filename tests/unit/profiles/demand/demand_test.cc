// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/demand.h"

#include <gtest/gtest.h>

#include "profiles/demand/codec_level.h"
#include "profiles/demand/container_overhead.h"
#include "profiles/demand/file_limits.h"
#include "profiles/demand/sdi_link.h"
#include "profiles/demand/stream_url.h"
#include "profiles/demand/wire_overhead.h"

namespace profiles {
namespace {

Source Camera(const char* name, const char* pixel_format) {
  Source source;
  source.name = name;
  source.arrives_by = ArrivesBy::kUsb;
  source.raster = {1280, 720};
  source.rate = 50;
  source.pixel_format = pixel_format;
  return source;
}

Source NetworkCamera(int bitrate_kbps) {
  Source source;
  source.name = "Far";
  source.arrives_by = ArrivesBy::kNetwork;
  source.raster = {1280, 720};
  source.rate = 50;
  source.codec = "h264";
  source.bitrate_kbps = bitrate_kbps;
  return source;
}

Output Recording(const char* name, int bitrate_kbps) {
  Output output;
  output.name = name;
  output.takes = "program";
  output.raster = {1280, 720};
  output.rate = 50;
  output.bitrate_kbps = bitrate_kbps;
  output.container = "mkv";
  return output;
}

Output Stream(const char* url, const char* container) {
  Output output = Recording("Air", 4000);
  output.kind = OutputKind::kStream;
  output.container = container;
  output.url = url;
  return output;
}

Profile OneHour() {
  Profile profile;
  profile.duration_minutes = 60;
  profile.program_raster = {1280, 720};
  profile.program_rate = 50;
  return profile;
}

TEST(SumDemand, AddsUpCaptureButNotNetworkSources) {
  Profile profile = OneHour();
  profile.sources = {Camera("A", "nv12"), Camera("B", "yuyv422"), NetworkCamera(8000)};
  const Demand demand = SumDemand(profile);
  EXPECT_EQ(demand.sources[0].frame_bytes, 1382400);
  EXPECT_EQ(demand.sources[2].frame_bytes, 0);
  EXPECT_DOUBLE_EQ(demand.capture_bytes_per_second, (1382400.0 + 1843200.0) * 50);
}

TEST(SumDemand, MarksCompressedCaptureAsAssumed) {
  Profile profile = OneHour();
  profile.sources = {Camera("A", "nv12"), Camera("B", "mjpeg")};
  const Demand demand = SumDemand(profile);
  EXPECT_FALSE(demand.sources[0].assumed);
  EXPECT_TRUE(demand.sources[1].assumed);
}

TEST(SumDemand, CountsDecodersForNetworkAndCompressedSources) {
  Profile profile = OneHour();
  profile.sources = {Camera("A", "nv12"), Camera("B", "mjpeg"), NetworkCamera(8000)};
  EXPECT_EQ(SumDemand(profile).decode_sessions, 2);
}

TEST(SumDemand, CountsEncodersByWhatTheyMustBe) {
  Profile profile = OneHour();
  profile.outputs = {Recording("A", 1000), Recording("B", 1000), Recording("C", 1000)};
  profile.outputs[0].encoder = EncoderChoice::kSoftware;
  profile.outputs[1].encoder = EncoderChoice::kHardware;
  profile.outputs[2].effort = Effort::kHigh;
  const Demand demand = SumDemand(profile);
  EXPECT_EQ(demand.encode_sessions, 3);
  EXPECT_EQ(demand.software_encodes, 1);
  EXPECT_EQ(demand.hardware_encodes, 1);
}

TEST(SumDemand, WritesRecordingsToDiskAndStreamsToTheNetwork) {
  Profile profile = OneHour();
  profile.outputs = {Recording("Tape", 8000), Stream("loopback", "flv")};
  const Demand demand = SumDemand(profile);
  EXPECT_GT(demand.outputs[0].disk_bytes_per_second, 1e6);
  EXPECT_EQ(demand.outputs[0].network_bits_per_second, 0);
  EXPECT_EQ(demand.outputs[1].disk_bytes_per_second, 0);
  EXPECT_GT(demand.outputs[1].network_bits_per_second, 4e6);
  EXPECT_DOUBLE_EQ(demand.disk_bytes_per_second, demand.outputs[0].disk_bytes_per_second);
  EXPECT_DOUBLE_EQ(demand.space_bytes, demand.disk_bytes_per_second * 3600);
}

TEST(SumDemand, PutsAudioIntoEveryOutput) {
  Profile profile = OneHour();
  profile.outputs = {Recording("Tape", 8000)};
  const double silent = SumDemand(profile).disk_bytes_per_second;
  profile.audio = Audio{2, 48000, 160};
  // 160 kb/s and a few bytes around each of 46.9 AAC frames a second
  EXPECT_NEAR(SumDemand(profile).disk_bytes_per_second - silent, 20000, 500);
}

TEST(SumDemand, NamesTheLargestFile) {
  Profile profile = OneHour();
  profile.outputs = {Recording("Small", 1000), Recording("Large", 9000)};
  const Demand demand = SumDemand(profile);
  EXPECT_DOUBLE_EQ(demand.largest_file_bytes, demand.outputs[1].space_bytes);
}

TEST(SumDemand, LeavesRoomForSrtToSendAgainOnTheUsersLine) {
  Profile profile = OneHour();
  profile.outputs = {Stream("loopback", "mpegts"), Stream("srt://192.0.2.1:9", "mpegts")};
  const Demand demand = SumDemand(profile);
  EXPECT_DOUBLE_EQ(demand.outputs[1].network_bits_per_second,
                   demand.outputs[0].network_bits_per_second * 1.25);
}

TEST(SumDemand, AsksForMemoryWithEverySourceAndOutput) {
  Profile profile = OneHour();
  const Demand none = SumDemand(profile);
  profile.sources = {Camera("A", "nv12")};
  const Demand one = SumDemand(profile);
  profile.outputs = {Recording("Tape", 1000)};
  const Demand both = SumDemand(profile);
  EXPECT_LT(none.memory_pool_bytes, one.memory_pool_bytes);
  EXPECT_LT(one.memory_pool_bytes, both.memory_pool_bytes);
  EXPECT_LT(none.memory_traffic_bytes_per_second, one.memory_traffic_bytes_per_second);
  EXPECT_LT(one.memory_traffic_bytes_per_second, both.memory_traffic_bytes_per_second);
}

TEST(SumDemand, CountsFittingToAnotherRasterAsMemoryTraffic) {
  Profile profile = OneHour();
  profile.outputs = {Recording("Tape", 1000)};
  profile.outputs[0].raster = {640, 360};
  const double fitted = SumDemand(profile).memory_traffic_bytes_per_second;
  profile.program_raster = {640, 360};
  // read 1280x720, write 640x360 at 50 pictures; the program's own writing differs too
  const double unfitted = SumDemand(profile).memory_traffic_bytes_per_second;
  EXPECT_DOUBLE_EQ(fitted - unfitted,
                   50 * 1.5 * ((1280 * 720 + 640 * 360) + (1280 * 720 - 640 * 360)));
}

TEST(H264LevelOf, SaysWhichLimitDecides) {
  EXPECT_EQ(H264LevelOf({{1920, 1080}, 60, 10000, 1}).limit, "picture rate");
  EXPECT_EQ(H264LevelOf({{1920, 1080}, 30, 30000, 1}).limit, "bit rate");
  EXPECT_EQ(H264LevelOf({{1920, 1080}, 25, 5000, 1}).limit, "raster");
  EXPECT_EQ(H264LevelOf({{1920, 1080}, 25, 5000, 5}).limit, "frames in flight");
}

TEST(H264LevelOf, HasNoLevelBeyondTheLast) {
  const LevelNeed need = H264LevelOf({{8192, 8192}, 60, 10000, 1});
  EXPECT_EQ(need.level, "");
  EXPECT_EQ(need.limit, "raster");
  EXPECT_FALSE(need.commonly_played);
}

TEST(H264LevelOf, MindsTheShapeOfThePicture) {
  // 4096x64 has 1024 macroblocks, few enough for level 2.2, but is 256 across:
  // 256 x 256 <= 8 x MaxFS first holds at level 4 (8192).
  EXPECT_EQ(H264LevelOf({{4096, 64}, 1, 100, 1}).level, "4");
}

TEST(H264LevelOf, KnowsWhatPlayersCommonlyTake) {
  EXPECT_TRUE(H264LevelOf({{1920, 1080}, 60, 40000, 4}).commonly_played);
  EXPECT_FALSE(H264LevelOf({{1920, 1080}, 60, 80000, 4}).commonly_played);
  EXPECT_TRUE(H264LevelOf({{3840, 2160}, 60, 60000, 4}).commonly_played);
  EXPECT_FALSE(H264LevelOf({{3840, 2160}, 120, 60000, 4}).commonly_played);
}

TEST(HevcLevelOf, SaysWhichLimitDecides) {
  EXPECT_EQ(HevcLevelOf({{1920, 1080}, 60, 10000, 1}).limit, "picture rate");
  EXPECT_EQ(HevcLevelOf({{3840, 2160}, 25, 40000, 4}).limit, "bit rate");
  EXPECT_EQ(HevcLevelOf({{3840, 2160}, 120, 20000, 4}).commonly_played, false);
}

TEST(SdiLinkFor, SaysNothingOfRastersThatNoTableHas) {
  EXPECT_FALSE(SdiLinkFor({1280, 800}, 60));
  EXPECT_FALSE(SdiLinkFor({1920, 1080}, 15));
}

TEST(SdiLinkFor, TakesTheSlowerRatesByRational) {
  const auto link = SdiLinkFor({1920, 1080}, base::Rational(24000, 1001));
  ASSERT_TRUE(link);
  EXPECT_EQ(link->name, "HD-SDI (ST 292-1)");
}

TEST(TransportOf, FollowsTheSchemeElseTheContainer) {
  EXPECT_EQ(TransportOf("loopback", "flv"), Transport::kRtmp);
  EXPECT_EQ(TransportOf("loopback", "mpegts"), Transport::kSrt);
  EXPECT_EQ(TransportOf("udp://192.0.2.1:9", "mpegts"), Transport::kUdp);
  EXPECT_EQ(TransportOf("tcp://192.0.2.1:9", "mpegts"), Transport::kTcp);
}

TEST(RtpWireBitsPerSecond, FillsUpTheLastPacketOfEachPicture) {
  // 1458 bytes are one fragment of H.264; one more byte is a second packet.
  const double one = RtpWireBitsPerSecond(125, 1458, false);
  EXPECT_DOUBLE_EQ(one, 1538 * 8 * 125.0);
  EXPECT_DOUBLE_EQ(RtpWireBitsPerSecond(125, 1459, false), one + (1 + 42 + 38) * 8 * 125.0);
}

TEST(ContainerBytesPerSecond, KnowsNothingOfOtherContainers) {
  EXPECT_EQ(ContainerBytesPerSecond("avi", {30, 1e6, std::nullopt}), 0);
}

TEST(SecondsUntilFull, IsZeroWhenNothingIsWritten) {
  EXPECT_EQ(SecondsUntilFull(1e9, 0), 0);
}

}  // namespace
}  // namespace profiles
