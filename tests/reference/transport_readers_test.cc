// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "probes/recording/containers/pes_packets.h"
#include "tests/reference/reader_files.h"

namespace probes {
namespace {

std::vector<Form> Forms() {
  const std::string both = std::string(kPictures) + kSound + "-t 12" + kLost;
  const std::string three =
      std::string(kPictures) + kSound + kOtherSound + "-map 0 -map 1 -map 2 -t 12" + kLost;
  return {
      {"pictures that are reordered, AAC", both + kH264 + "-c:a aac"},
      {"two tracks of sound", three + kH264 + "-c:a aac"},
      {"two programmes",
       three + kH264 + "-c:a aac -program title=One:st=0:st=1 -program title=Two:st=2"},
      {"HEVC", both + "-c:v libx265 -preset ultrafast -x265-params log-level=none -c:a aac"},
      {"MPEG-2 pictures alone", std::string(kPictures) + "-t 12" + kLost + "-c:v mpeg2video -bf 2"},
      {"lengths of all packets", both + kH264 + "-c:a aac -omit_video_pes_length 0"},
      {"one block of sound a packet", both + kH264 + "-c:a aac -pes_payload_size 0"},
      {"a constant bit rate", both + kH264 + "-c:a aac -muxrate 2500k"},
      {"tables often, and before key frames",
       both + kH264 + "-c:a aac -pat_period 0.1 -mpegts_flags resend_headers"},
      {"sound that begins late",
       std::string(kPictures) + "-itsoffset 1.5 " + kSound + "-t 12" + kH264 + "-c:a aac"},
      {"a clock of many hours", both + kH264 + "-c:a aac -output_ts_offset 60000"},
      {"a clock that comes round, left to libavformat",
       both + kH264 + "-c:a aac -output_ts_offset 95437"},
      {"sound of another codec, left to libavformat", both + kH264 + "-c:a mp2"},
      {"packets of 192 bytes, left to libavformat", both + kH264 + "-c:a aac -mpegts_m2ts_mode 1"},
  };
}

class TransportReaders : public ReaderFiles {
 protected:
  TransportReaders() : ReaderFiles("ts") {}
};

TEST_F(TransportReaders, AgreeOnWholeFiles) {
  for (const Form& form : Forms()) {
    ExpectAgreement(Make(form), form, TakePesPackets);
  }
}

TEST_F(TransportReaders, APictureOfManyBytesIsOne) {
  const auto path =
      Make({"pictures of more than 200 KiB",
            "-f lavfi -i testsrc2=size=960x540:rate=25,noise=alls=100:allf=t -frames:v "
            "40 -c:v libx264 -preset ultrafast -qp 4"});
  const ReadFile own = ReadBy(path, TakePesPackets);
  ASSERT_TRUE(own.own);
  EXPECT_EQ(own.recording.tracks[0].present, 40);
  EXPECT_EQ(own.recording.tracks[0].untimed, 0);
  EXPECT_GT(own.recording.tracks[0].bytes, 40 * 200 * 1024);
  EXPECT_EQ(Difference(own.recording, ReadByLibrary(path).recording), "");
}

TEST_F(TransportReaders, AgreeOnFilesThatEndAnywhere) {
  constexpr std::size_t kPacket = 188;
  std::mt19937 random(4127);
  const std::string whole = Content(Make(Forms()[0]));
  for (int i = 0; i < 40; ++i) {
    std::string cut = Cut(whole, random);
    cut.resize(cut.size() - (i % 2 == 0 ? cut.size() % kPacket : 0));
    SCOPED_TRACE("cut to " + std::to_string(cut.size()));
    const auto path = Write("cut", cut);
    const ReadFile own = ReadBy(path, TakePesPackets);
    const ReadFile other = ReadByLibrary(path);
    ASSERT_EQ(own.opened, other.opened);
    EXPECT_TRUE(cut.size() % kPacket == 0 || !own.own);
    EXPECT_EQ(Difference(own.recording, other.recording), "");
    EXPECT_EQ(own.recording.remarks, other.recording.remarks);
  }
}

TEST_F(TransportReaders, AgreeOnWhateverIsTakenOfDamagedFiles) {
  ExpectAgreementOnDamaged(Content(Make(Forms()[0])), TakePesPackets);
}

/// Where the first packet from `from` on lies that goes on with a picture (ffmpeg: PID 256).
std::size_t InsidePicture(const std::string& whole, std::size_t from) {
  const auto is = [&](std::size_t at) {
    return whole[at + 1] == 1 && whole[at + 2] == 0 && (whole[at + 3] & 0x30) == 0x10;
  };
  while (!is(from)) {
    from += 188;
  }
  return from;
}

TEST_F(TransportReaders, PacketsThatAreLostOrComeTwiceAreLeftToLibavformat) {
  constexpr std::size_t kPacket = 188;
  const std::string whole = Content(Make(Forms()[0]));
  const std::size_t middle = InsidePicture(whole, whole.size() / 2 / kPacket * kPacket);
  std::string lost = whole;
  lost.erase(middle, kPacket);
  std::string twice = whole;
  twice.insert(middle, whole.substr(middle, kPacket));
  for (const std::string& content : {lost, twice}) {
    const auto path = Write("strange", content);
    const ReadFile own = ReadBy(path, TakePesPackets);
    EXPECT_FALSE(own.own);
    EXPECT_EQ(Difference(own.recording, ReadByLibrary(path).recording), "");
  }
}

}  // namespace
}  // namespace probes
