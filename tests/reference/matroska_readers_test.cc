// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "probes/recording/containers/blocks.h"
#include "tests/reference/reader_files.h"

namespace probes {
namespace {

std::vector<Form> Forms() {
  const std::string both = std::string(kPictures) + kSound + "-t 12" + kLost;
  const std::string three =
      std::string(kPictures) + kSound + kOtherSound + "-map 0 -map 1 -map 2 -t 12" + kLost;
  return {
      {"pictures that are reordered, AAC", both + kH264 + "-c:a aac"},
      {"two tracks of sound", three + kH264 + "-c:a:0 aac -c:a:1 pcm_s16le"},
      {"MP3 and AC-3", three + "-c:v mpeg4 -c:a:0 libmp3lame -c:a:1 ac3"},
      {"FLAC and Opus, left to libavformat",
       three + "-c:v mjpeg -c:a:0 flac -c:a:1 libopus -ar:a:1 48000"},
      {"Vorbis, left to libavformat", both + "-c:v mpeg4 -c:a libvorbis"},
      {"live", both + kH264 + "-c:a aac -f matroska -live 1"},
      {"short clusters", both + kH264 + "-c:a aac -cluster_time_limit 200"},
      {"small clusters and an index in front",
       both + kH264 + "-c:a aac -cluster_size_limit 9000 -reserve_index_space 50000"},
      {"a variable rate", std::string(kPictures) + kSound +
                              "-t 12 -vf select='lt(random(1),0.6)' " + "-fps_mode vfr" + kH264 +
                              "-c:a aac"},
      {"sound that begins late",
       std::string(kPictures) + "-itsoffset 1.5 " + kSound + "-t 12" + kH264 + "-c:a aac"},
      {"pictures alone", std::string(kPictures) + "-t 12" + kLost + kH264},
      {"WebM", both + "-c:v libvpx -deadline realtime -cpu-used 8 -c:a libopus -f webm"},
      {"a codec of AVI", both + "-c:v msmpeg4v2 -c:a pcm_s24le"},
  };
}

class MatroskaReaders : public ReaderFiles {
 protected:
  MatroskaReaders() : ReaderFiles("mkv") {}
};

TEST_F(MatroskaReaders, AgreeOnWholeFiles) {
  for (const Form& form : Forms()) {
    ExpectAgreement(Make(form), form, TakeBlocks);
  }
}

TEST_F(MatroskaReaders, AgreeOnFilesThatEndAnywhere) {
  std::mt19937 random(9559);
  for (const Form& form : {Forms()[0], Forms()[5], Forms()[6]}) {
    const std::string whole = Content(Make(form));
    for (int i = 0; i < 25; ++i) {
      const std::string cut = Cut(whole, random);
      SCOPED_TRACE(std::string(form.name) + " cut to " + std::to_string(cut.size()));
      const auto path = Write("cut", cut);
      const ReadFile own = ReadBy(path, TakeBlocks);
      const ReadFile other = ReadByLibrary(path);
      ASSERT_EQ(own.opened, other.opened);
      EXPECT_EQ(Difference(own.recording, other.recording), "");
      // Ours also tells of a cut so near to the end that the length does not.
      EXPECT_EQ(own.recording.state, ReadState::kPartly);
    }
  }
}

TEST_F(MatroskaReaders, ZerosBehindACutTellOfBoth) {
  const std::string whole = Content(Make(Forms()[6]));
  const std::string half = whole.substr(0, whole.size() / 2);
  const auto path = Write("zeros", half);
  const Recording cut = ReadBy(path, TakeBlocks).recording;
  Write("zeros", half + std::string(5 << 20, '\0'));
  const ReadFile filled = ReadBy(path, TakeBlocks);
  ASSERT_TRUE(filled.own);
  // The block at the cut is as long as it tells again.
  EXPECT_GE(filled.recording.tracks[0].present, cut.tracks[0].present);
  EXPECT_LE(filled.recording.tracks[0].present, cut.tracks[0].present + 1);
  EXPECT_EQ(filled.recording.state, ReadState::kPartly);
  const std::string remarks = testing::PrintToString(filled.recording.remarks);
  EXPECT_NE(remarks.find("up to the file's end"), std::string::npos) << remarks;
  EXPECT_NE(remarks.find("the recording ends inside a cluster"), std::string::npos) << remarks;
}

TEST_F(MatroskaReaders, SayWhereAFileIsDamagedOrAgree) {
  std::mt19937 random(8794);
  int silent = 0;
  int told = 0;
  for (const Form& form : {Forms()[0], Forms()[5], Forms()[6]}) {
    const auto made = Make(form);
    const std::string whole = Content(made);
    const std::int64_t present = ReadBy(made, TakeBlocks).recording.tracks[0].present;
    for (int i = 0; i < 40; ++i) {
      SCOPED_TRACE(std::string(form.name) + ", file " + std::to_string(i));
      // From the first cluster on: without a head there is nothing that the two could agree on.
      const auto path =
          Write("damaged", Damaged(whole, whole.find("\x1f\x43\xb6\x75"), 3000, random));
      const ReadFile own = ReadBy(path, TakeBlocks);
      const ReadFile other = ReadByLibrary(path);
      if (!own.opened || !other.opened) {
        continue;
      }
      const std::string difference = Difference(own.recording, other.recording);
      const bool tells = own.recording.state == ReadState::kPartly;
      EXPECT_TRUE(difference.empty() || tells) << difference;
      ++(tells ? told : silent);
      EXPECT_LE(own.recording.tracks[0].present, present);  // nothing is made up
    }
  }
  EXPECT_GT(told, silent / 4);
}

}  // namespace
}  // namespace probes
