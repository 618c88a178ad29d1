// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "probes/flv_tags.h"
#include "tests/reference/reader_files.h"

namespace probes {
namespace {

std::vector<Form> Forms() {
  const std::string both = std::string(kPictures) + kSound + "-t 12" + kLost;
  return {
      {"pictures that are reordered, AAC", both + kH264 + "-c:a aac"},
      {"live", both + kH264 + "-c:a aac -flvflags no_duration_filesize"},
      {"a list of key frames", both + kH264 + "-c:a aac -flvflags add_keyframe_index"},
      {"MP3", both + kH264 + "-c:a libmp3lame -ar 44100"},
      {"pictures alone", std::string(kPictures) + "-t 12" + kLost + kH264},
      {"sound that begins late",
       std::string(kPictures) + "-itsoffset 1.5 " + kSound + "-t 12" + kH264 + "-c:a aac"},
      {"a variable rate", std::string(kPictures) + kSound +
                              "-t 12 -vf select='lt(random(1),0.6)' -fps_mode vfr" + kH264 +
                              "-c:a aac"},
      {"an old codec, left to libavformat", both + "-c:v flv -c:a aac"},
      {"uncompressed sound, left to libavformat", both + kH264 + "-c:a pcm_s16le -ar 44100"},
  };
}

class FlvReaders : public ReaderFiles {
 protected:
  FlvReaders() : ReaderFiles("flv") {}
};

TEST_F(FlvReaders, AgreeOnWholeFiles) {
  for (const Form& form : Forms()) {
    SCOPED_TRACE(form.name);
    const auto path = Make(form);
    const ReadFile own = ReadBy(path, TakeFlvTags);
    const ReadFile other = ReadByLibrary(path);
    ASSERT_TRUE(own.opened && other.opened);
    EXPECT_NE(own.own, form.left_to_library());
    EXPECT_GT(own.recording.tracks[0].present, 100);
    EXPECT_EQ(Difference(own.recording, other.recording), "");
    EXPECT_EQ(own.recording.remarks, other.recording.remarks);
  }
}

TEST_F(FlvReaders, AFileThatEndsInsideATagIsLeftToLibavformat) {
  std::mt19937 random(4127);
  const std::string whole = Content(Make(Forms()[0]));
  int between_tags = 0;
  for (int i = 0; i < 40; ++i) {
    const std::size_t bytes =
        std::uniform_int_distribution<std::size_t>(whole.size() / 10, whole.size() - 1)(random);
    SCOPED_TRACE("cut to " + std::to_string(bytes));
    const auto path = Write("cut", whole.substr(0, bytes));
    const ReadFile own = ReadBy(path, TakeFlvTags);
    const ReadFile other = ReadByLibrary(path);
    ASSERT_EQ(own.opened, other.opened);
    between_tags += own.own ? 1 : 0;
    EXPECT_EQ(Difference(own.recording, other.recording), "");
    EXPECT_EQ(own.recording.remarks, other.recording.remarks);
  }
  EXPECT_LT(between_tags, 4);
}

TEST_F(FlvReaders, AgreeOnWhateverIsTakenOfDamagedFiles) {
  std::mt19937 random(6011);
  int taken = 0;
  const std::string whole = Content(Make(Forms()[0]));
  constexpr int kFiles = 150;
  for (int i = 0; i < kFiles; ++i) {
    std::string damaged = whole;
    const std::size_t length = std::uniform_int_distribution<std::size_t>(1, 40)(random);
    const std::size_t at =
        std::uniform_int_distribution<std::size_t>(0, whole.size() - length)(random);
    std::generate_n(damaged.begin() + static_cast<std::ptrdiff_t>(at), length,
                    [&random] { return static_cast<char>(random()); });
    SCOPED_TRACE("damaged at " + std::to_string(at) + " for " + std::to_string(length));
    const auto path = Write("damaged", damaged);
    const ReadFile own = ReadBy(path, TakeFlvTags);
    if (own.own) {
      ++taken;  // the damage lies in what a decoder sees
      EXPECT_EQ(Difference(own.recording, ReadByLibrary(path).recording), "");
    }
  }
  EXPECT_GT(taken, 10);
  EXPECT_LT(taken, kFiles);
}

}  // namespace
}  // namespace probes
