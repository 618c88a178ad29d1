// SPDX-License-Identifier: Apache-2.0
//
// A file of sound, and files that would lead to it or never end.

#include "base/media/media_file.h"

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace base {
namespace {

using testing::HasSubstr;

std::string Little(unsigned value, int bytes) {
  std::string text;
  for (int i = 0; i < bytes; ++i) {
    text += static_cast<char>(value >> (8 * i) & 255);
  }
  return text;
}

/// RIFF, WAVE: one channel of 16-bit silence, one second.
std::string Sound() {
  const std::string form = "fmt " + Little(16, 4) + Little(1, 2) + Little(1, 2) + Little(8000, 4) +
                           Little(16000, 4) + Little(2, 2) + Little(16, 2);
  const std::string data = "data" + Little(16000, 4) + std::string(16000, '\0');
  return "RIFF" + Little(static_cast<unsigned>(4 + form.size() + data.size()), 4) + "WAVE" + form +
         data;
}

class OpenMediaFileTest : public testing::Test {
 protected:
  OpenMediaFileTest() {
    std::string name = testing::TempDir() + "rigproof_media_XXXXXX";
    folder_ = mkdtemp(name.data());
    Write("sound.wav", Sound());
  }
  ~OpenMediaFileTest() override { std::filesystem::remove_all(folder_); }

  std::filesystem::path Write(const std::string& name, const std::string& text) {
    std::ofstream(folder_ / name, std::ios::binary) << text;
    return folder_ / name;
  }

  std::filesystem::path folder_;
};

TEST_F(OpenMediaFileTest, OpensAFileAndReadsIt) {
  const std::stop_token never;
  auto input = OpenMediaFile(folder_ / "sound.wav", never, 0);
  ASSERT_TRUE(input) << input.error().detail;
  EXPECT_STREQ((*input)->iformat->name, "wav");
  const PacketPtr packet = NewPacket();
  EXPECT_EQ(av_read_frame(input->get(), packet.get()), 0);
}

TEST_F(OpenMediaFileTest, NothingThatItNamesIsOpened) {
  const std::string sound = (folder_ / "sound.wav").string();
  const std::filesystem::path lists[] = {
      Write("near.ffconcat", "ffconcat version 1.0\nfile sound.wav\n"),
      Write("list.m3u8", "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\nsound.wav\n#EXT-X-ENDLIST"),
      Write("whole.m3u8",
            "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n" + sound + "\n#EXT-X-ENDLIST"),
      Write("far.ffconcat", "ffconcat version 1.0\nfile http://127.0.0.1:9/sound.wav\n"),
  };
  const std::stop_token never;
  for (const auto& list : lists) {
    auto input = OpenMediaFile(list, never, 0);
    if (input) {  // what is in a list may be opened as late as this
      const PacketPtr packet = NewPacket();
      EXPECT_LT(av_read_frame(input->get(), packet.get()), 0) << list;
    } else {
      EXPECT_EQ(
          input.error().kind == ErrorKind::kMalformed || input.error().kind == ErrorKind::kDenied,
          true)
          << list << input.error().detail;
    }
  }
}

TEST_F(OpenMediaFileTest, OnlyRegularFilesAreOpened) {
  const auto pipe = folder_ / "pipe.wav";
  ASSERT_EQ(mkfifo(pipe.c_str(), 0600), 0);
  std::filesystem::create_symlink("/dev/zero", folder_ / "zero.wav");
  const std::stop_token never;
  for (const auto& path : {pipe, folder_ / "zero.wav", folder_}) {
    const auto input = OpenMediaFile(path, never, 0);
    ASSERT_FALSE(input) << path;
    EXPECT_EQ(input.error().kind, ErrorKind::kInvalid);
    EXPECT_THAT(input.error().detail, HasSubstr("allowed: a regular file"));
  }
  EXPECT_FALSE(OpenMediaFile(folder_ / "none.wav", never, 0));
}

TEST_F(OpenMediaFileTest, AStopEndsEveryRead) {
  std::stop_source stop;
  const std::stop_token token = stop.get_token();
  auto input = OpenMediaFile(folder_ / "sound.wav", token, 0);
  ASSERT_TRUE(input);
  stop.request_stop();
  std::filesystem::resize_file(folder_ / "sound.wav", 1 << 20);
  const PacketPtr packet = NewPacket();
  int read = 0;
  while (av_read_frame(input->get(), packet.get()) >= 0) {
    av_packet_unref(packet.get());
    ASSERT_LT(++read, 100);  // what was already in memory
  }
  EXPECT_FALSE(OpenMediaFile(folder_ / "sound.wav", token, 0));
}

}  // namespace
}  // namespace base
