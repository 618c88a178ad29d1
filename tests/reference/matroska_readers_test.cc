// SPDX-License-Identifier: Apache-2.0
//
// Our own reading of Matroska files against libavformat's, an independent reader of the same
// standard: files by the ffmpeg program (Debian's FFmpeg package), whole, cut short and damaged.

#include <stdlib.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "base/subprocess.h"
#include "base/text.h"
#include "probes/byte_source.h"
#include "probes/recording_blocks.h"
#include "probes/recording_container.h"
#include "probes/recording_packets.h"

namespace probes {
namespace {

constexpr const char* kPictures = "-f lavfi -i testsrc2=size=96x54:rate=30000/1001 ";
constexpr const char* kSound = "-f lavfi -i sine=sample_rate=48000 ";
constexpr const char* kOtherSound = "-f lavfi -i sine=sample_rate=44100 ";
constexpr const char* kH264 = " -c:v libx264 -preset ultrafast -bf 3 -g 40 ";
constexpr const char* kLost =
    " -vf select='not(between(n,40,43)+eq(n,200))' -fps_mode passthrough ";

struct Form {
  const char* name;
  std::string arguments;
};

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

class MatroskaReaders : public testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (std::filesystem::temp_directory_path() / "readers-XXXXXX").string();
    ASSERT_NE(mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  std::filesystem::path Make(const Form& form) const {
    auto path = folder_ / "made.mkv";
    base::Command command;
    command.argv = {"ffmpeg", "-hide_banner", "-loglevel", "error", "-nostdin", "-y"};
    for (const std::string_view word : base::Split(form.arguments, ' ')) {
      if (!word.empty()) {
        command.argv.emplace_back(word);
      }
    }
    command.argv.push_back(path.string());
    const auto made = base::RunProgram(command);
    EXPECT_TRUE(made && made->ok())
        << form.name << ": " << (made ? made->err : made.error().detail);
    return path;
  }

  std::filesystem::path folder_;
};

struct Read {
  bool opened = false;
  bool own = false;  // our reader took it
  Recording recording;
};

Read ReadBy(const std::filesystem::path& path, bool own) {
  static const std::stop_token never;  // the library asks it as long as the file is open
  Read read;
  const auto input = OpenRecording(path, never);
  auto source = FileBytes::Open(path);
  RecordingSums sums;
  if (!input || !source || !sums.BeginFile(FactsOf(**input), std::nullopt)) {
    return read;
  }
  read.opened = true;
  const auto no_progress = [](double, std::int64_t) {};
  read.own = own && TakeBlocks(*source, **input, sums, never, no_progress, read.recording);
  if (!read.own) {
    TakePackets(path, **input, sums, never, no_progress, read.recording);
  }
  sums.Finish(read.recording);
  return read;
}

/// What the two say differently; empty where they agree.
std::string Difference(const Recording& own, const Recording& other) {
  if (own.tracks.size() != other.tracks.size()) {
    return "tracks";
  }
  for (std::size_t i = 0; i < own.tracks.size(); ++i) {
    const TrackTimes& left = own.tracks[i];
    const TrackTimes& right = other.tracks[i];
    const auto counts = [](const TrackTimes& track) {
      return std::vector<std::int64_t>{
          track.present,          track.due,          track.missing,
          track.repeated,         track.out_of_order, track.untimed,
          track.gap_count,        track.step_count,   track.rate_numerator,
          track.rate_denominator, track.bytes};
    };
    const bool near = std::abs(left.first_s - right.first_s) < 1e-6 &&
                      std::abs(left.end_s - right.end_s) < 1.1e-3;
    const bool alike = left.beat == right.beat && left.clock.has_value() == right.clock.has_value();
    if (counts(left) != counts(right) || !near || !alike) {
      return "track " + std::to_string(i) + ": " + testing::PrintToString(counts(left)) + " " +
             std::to_string(left.first_s) + " to " + std::to_string(left.end_s) + ", not " +
             testing::PrintToString(counts(right)) + " " + std::to_string(right.first_s) + " to " +
             std::to_string(right.end_s);
    }
  }
  return "";
}

void Write(const std::filesystem::path& path, const std::string& content) {
  std::ofstream(path, std::ios::binary | std::ios::trunc) << content;
}

std::string Content(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

TEST_F(MatroskaReaders, AgreeOnWholeFiles) {
  for (const Form& form : Forms()) {
    SCOPED_TRACE(form.name);
    const auto path = Make(form);
    const Read own = ReadBy(path, true);
    const Read other = ReadBy(path, false);
    ASSERT_TRUE(own.opened && other.opened);
    EXPECT_EQ(own.own, std::string_view(form.name).find("left to") == std::string_view::npos);
    EXPECT_GT(own.recording.tracks[0].present, 100);
    EXPECT_EQ(Difference(own.recording, other.recording), "");
    EXPECT_EQ(own.recording.remarks, other.recording.remarks);
  }
}

TEST_F(MatroskaReaders, AgreeOnFilesThatEndAnywhere) {
  std::mt19937 random(9559);
  for (const Form& form : {Forms()[0], Forms()[5], Forms()[6]}) {
    const std::string whole = Content(Make(form));
    for (int i = 0; i < 25; ++i) {
      const std::size_t bytes =
          std::uniform_int_distribution<std::size_t>(whole.size() / 10, whole.size() - 1)(random);
      SCOPED_TRACE(std::string(form.name) + " cut to " + std::to_string(bytes));
      const auto path = folder_ / "cut.mkv";
      Write(path, whole.substr(0, bytes));
      const Read own = ReadBy(path, true);
      const Read other = ReadBy(path, false);
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
  const auto path = folder_ / "zeros.mkv";
  Write(path, half);
  const Recording cut = ReadBy(path, true).recording;
  Write(path, half + std::string(5 << 20, '\0'));
  const Read filled = ReadBy(path, true);
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
    const std::int64_t present = ReadBy(made, true).recording.tracks[0].present;
    for (int i = 0; i < 40; ++i) {
      std::string damaged = whole;
      // From the first cluster on: without a head there is nothing that the two could agree on.
      const std::size_t from = whole.find("\x1f\x43\xb6\x75");
      const std::size_t at =
          std::uniform_int_distribution<std::size_t>(from, whole.size() - 1)(random);
      const std::size_t length = std::min<std::size_t>(
          std::uniform_int_distribution<std::size_t>(1, 3000)(random), whole.size() - at);
      for (std::size_t k = at; k < at + length; ++k) {
        damaged[k] = static_cast<char>(random());
      }
      SCOPED_TRACE(std::string(form.name) + " damaged at " + std::to_string(at) + " for " +
                   std::to_string(length));
      const auto path = folder_ / "damaged.mkv";
      Write(path, damaged);
      const Read own = ReadBy(path, true);
      const Read other = ReadBy(path, false);
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
