// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "probes/recording/containers/flv_tags.h"
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
    ExpectAgreement(Make(form), form, TakeFlvTags);
  }
}

TEST_F(FlvReaders, AFileThatEndsInsideATagIsLeftToLibavformat) {
  std::mt19937 random(4127);
  const std::string whole = Content(Make(Forms()[0]));
  int between_tags = 0;
  for (int i = 0; i < 40; ++i) {
    const std::string cut = Cut(whole, random);
    SCOPED_TRACE("cut to " + std::to_string(cut.size()));
    const auto path = Write("cut", cut);
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
  ExpectAgreementOnDamaged(Content(Make(Forms()[0])), TakeFlvTags);
}

}  // namespace
}  // namespace probes
