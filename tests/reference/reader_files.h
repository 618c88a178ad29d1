// SPDX-License-Identifier: Apache-2.0
//
// Our own reading of a container against libavformat's, an independent reader of the same standard:
// files by the ffmpeg program (Debian's FFmpeg package), whole, cut short and damaged.

#pragma once

#include <stdlib.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <random>
#include <stop_token>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "base/media/ffmpeg.h"
#include "base/system/subprocess.h"
#include "base/text.h"
#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/containers/container.h"
#include "probes/recording/containers/packets.h"

namespace probes {

inline constexpr const char* kPictures = "-f lavfi -i testsrc2=size=96x54:rate=30000/1001 ";
inline constexpr const char* kSound = "-f lavfi -i sine=sample_rate=48000 ";
inline constexpr const char* kOtherSound = "-f lavfi -i sine=sample_rate=44100 ";
inline constexpr const char* kH264 = " -c:v libx264 -preset ultrafast -bf 3 -g 40 ";
inline constexpr const char* kLost =
    " -vf select='not(between(n,40,43)+eq(n,200))' -fps_mode passthrough ";

struct Form {
  const char* name;
  std::string arguments;
  bool left_to_library() const {
    return std::string_view(name).find("left to") != std::string_view::npos;
  }
};

inline std::string Content(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

struct ReadFile {
  bool opened = false;
  bool own = false;  // our reader took it
  Recording recording;
};

/// By libavformat alone, or by `own`, a function as TakeBlocks, where that takes it.
template <typename Own>
ReadFile ReadBy(const std::filesystem::path& path, const Own& own) {
  static const std::stop_token never;  // the library asks it as long as the file is open
  ReadFile read;
  const auto input = OpenRecording(path, never);
  auto source = FileBytes::Open(path);
  RecordingSums sums;
  if (!input || !source || !sums.BeginFile(FactsOf(**input), std::nullopt)) {
    return read;
  }
  read.opened = true;
  const auto no_progress = [](double, std::int64_t) {};
  read.own = own(*source, **input, sums, never, no_progress, read.recording);
  if (!read.own) {
    sums = {};  // what is in them may be void
    sums.BeginFile(FactsOf(**input), std::nullopt);
    TakePackets(path, **input, sums, never, no_progress, read.recording);
  }
  sums.Finish(read.recording);
  return read;
}
inline ReadFile ReadByLibrary(const std::filesystem::path& path) {
  return ReadBy(path, [](const auto&...) { return false; });
}

/// What the two say differently; empty where they agree.
inline std::string Difference(const Recording& own, const Recording& other) {
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

/// Both say the same of a whole file; ours leaves to the library only what it is said to.
template <typename Own>
void ExpectAgreement(const std::filesystem::path& path, const Form& form, const Own& take) {
  SCOPED_TRACE(form.name);
  const ReadFile own = ReadBy(path, take);
  const ReadFile other = ReadByLibrary(path);
  ASSERT_TRUE(own.opened && other.opened);
  EXPECT_NE(own.own, form.left_to_library());
  EXPECT_GT(own.recording.tracks[0].present, 100);
  EXPECT_EQ(Difference(own.recording, other.recording), "");
  EXPECT_EQ(own.recording.remarks, other.recording.remarks);
}

/// `whole` with 1 to `most` bytes from `from` on that are others.
inline std::string Damaged(std::string whole, std::size_t from, std::size_t most,
                           std::mt19937& random) {
  const std::size_t at = std::uniform_int_distribution<std::size_t>(from, whole.size() - 1)(random);
  const std::size_t length =
      std::min(std::uniform_int_distribution<std::size_t>(1, most)(random), whole.size() - at);
  std::generate_n(whole.begin() + static_cast<std::ptrdiff_t>(at), length,
                  [&random] { return static_cast<char>(random()); });
  return whole;
}

/// The first bytes of `whole`, a tenth of it at least, but not all.
inline std::string Cut(const std::string& whole, std::mt19937& random) {
  return whole.substr(
      0, std::uniform_int_distribution<std::size_t>(whole.size() / 10, whole.size() - 1)(random));
}

/// Of one container, made in a folder of its own.
class ReaderFiles : public testing::Test {
 protected:
  explicit ReaderFiles(std::string extension) : extension_(std::move(extension)) {}
  void SetUp() override {
    base::KeepFfmpegComplaints();
    std::string pattern = (std::filesystem::temp_directory_path() / "readers-XXXXXX").string();
    ASSERT_NE(mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  std::filesystem::path Make(const Form& form) const {
    auto path = folder_ / ("made." + extension_);
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
  std::filesystem::path Write(const char* name, const std::string& content) const {
    auto path = folder_ / (std::string(name) + "." + extension_);
    std::ofstream(path, std::ios::binary | std::ios::trunc) << content;
    return path;
  }

  /// A reader that leaves what is strange to libavformat agrees with it on whatever it takes.
  template <typename Own>
  void ExpectAgreementOnDamaged(const std::string& whole, const Own& take) const {
    constexpr int kFiles = 150;
    std::mt19937 random(6011);
    int taken = 0;
    for (int i = 0; i < kFiles; ++i) {
      SCOPED_TRACE("file " + std::to_string(i));
      const auto path = Write("damaged", Damaged(whole, 0, 40, random));
      const ReadFile own = ReadBy(path, take);
      if (own.own) {
        ++taken;  // the damage lies in what a decoder sees
        EXPECT_EQ(Difference(own.recording, ReadByLibrary(path).recording), "");
      }
    }
    EXPECT_GT(taken, 10);
    EXPECT_LT(taken, kFiles);
  }

 private:
  const std::string extension_;
  std::filesystem::path folder_;
};

}  // namespace probes
