// SPDX-License-Identifier: Apache-2.0
//
// Sample tables and fragments of MP4 files, whole, cut short and hostile.

#include "probes/iso_samples.h"

#include <random>
#include <span>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/iso_fragments.h"
#include "tests/unit/probes/made_movie.h"
#include "tests/unit/probes/zeros_behind.h"

namespace probes {
namespace {

using testing::SizeIs;
using tests::Box;
using tests::MadeTrack;
using tests::Numbers;

class Opened {
 public:
  explicit Opened(std::string bytes)
      : bytes_(std::move(bytes)),
        source(std::span(reinterpret_cast<const std::uint8_t*>(bytes_.data()), bytes_.size())),
        movie(Read()) {}

  TrackTimes Pictures() {
    PictureTimes pictures(base::Rational(1, 1000), std::nullopt);
    past_end = TakePictures(source, movie->tracks.at(0), pictures, {});
    return pictures.Finish(0);
  }

 private:
  base::Result<IsoMovie> Read() {
    ByteWindow window(source);
    return ReadIsoMovie(window);
  }

  std::string bytes_;

 public:
  MemoryBytes source;
  base::Result<IsoMovie> movie;
  std::int64_t past_end = 0;
};

TEST(IsoMovie, ReadsTracksAndWhenItWasMade) {
  Opened opened(tests::Movie({MadeTrack{}}));
  ASSERT_TRUE(opened.movie);
  EXPECT_EQ(opened.movie->created_unix_s.value_or(0), 1'795'626'000);
  ASSERT_THAT(opened.movie->tracks, SizeIs(1));
  EXPECT_EQ(opened.movie->tracks[0].kind, TrackKind::kVideo);
  EXPECT_EQ(opened.movie->tracks[0].ticks_per_second, 1000U);
  const auto times = opened.Pictures();
  EXPECT_EQ(times.present, 10);
  EXPECT_EQ(times.bytes, 1000);
  EXPECT_NEAR(times.end_s, 0.4, 1e-9);
  EXPECT_EQ(opened.past_end, 0);
}

TEST(IsoMovie, ThousandsOfTracksAreCutShort) {
  Opened opened(tests::Movie(std::vector<MadeTrack>(3000)));
  ASSERT_TRUE(opened.movie);
  EXPECT_THAT(opened.movie->tracks, SizeIs(kMostTracks));
  EXPECT_EQ(opened.movie->tracks_left_out, 3000 - static_cast<std::int64_t>(kMostTracks));
}

TEST(IsoMovie, ALongerDurationIsAHole) {
  MadeTrack track;
  track.stts = Numbers({3, 4, 40, 1, 120, 5, 40});
  const auto times = Opened(tests::Movie({track})).Pictures();
  EXPECT_EQ(times.present, 10);
  EXPECT_EQ(times.missing, 2);
  ASSERT_THAT(times.gaps, SizeIs(1));
  EXPECT_NEAR(times.gaps[0].at_s, 0.2, 1e-9);
}

TEST(IsoMovie, OffsetsPutPicturesInOrder) {
  MadeTrack track;  // I P B B ...
  track.stsz = Numbers({100, 7});
  track.stts = Numbers({1, 7, 40});
  track.ctts = Numbers({5, 1, 40, 1, 120, 2, 0, 1, 120, 2, 0});
  const auto times = Opened(tests::Movie({track})).Pictures();
  EXPECT_EQ(times.due, 7);
  EXPECT_EQ(times.missing, 0);
  EXPECT_NEAR(times.first_s, 0.04, 1e-9);
}

TEST(IsoMovie, EditsMoveTheStart) {
  MadeTrack late;
  late.elst = Numbers({2, 300, 0xffffffffU, 0x10000, 240, 80, 0x10000});
  Opened opened(tests::Movie({late}));
  const IsoTrack& track = opened.movie->tracks[0];
  EXPECT_EQ(track.edits, 1);
  EXPECT_EQ(track.lead_in_ticks, 80);
  EXPECT_EQ(track.shift_ticks, 500 - 80);  // 300 of 600 ticks a second are half a second
}

TEST(IsoMovie, SamplesPastTheEndAreNotThere) {
  MadeTrack track;
  track.stco = Numbers({2, 24, 1'000'000});
  track.stsc = Numbers({1, 1, 5, 1});
  Opened opened(tests::Movie({track}));
  EXPECT_EQ(opened.Pictures().present, 5);
  EXPECT_EQ(opened.past_end, 5);
}

TEST(IsoMovie, WithoutAnIndexItSaysSo) {
  Opened opened(Box("ftyp", "isom") + Box("mdat", std::string(100, 'x')));
  ASSERT_FALSE(opened.movie);
  EXPECT_EQ(opened.movie.error().kind, base::ErrorKind::kNotPresent);
  EXPECT_FALSE(Opened(Box("ftyp", "isom") + Box("moov", "")).movie);
}

TEST(IsoMovie, ConstantSizesAreTakenInRuns) {
  MadeTrack sound;
  sound.handler = "soun";
  sound.entry = "sowt";
  sound.stts = Numbers({1, 500, 1});
  sound.stsz = Numbers({4, 500});
  sound.stsc = Numbers({1, 1, 250, 1});
  sound.stco = Numbers({2, 24, 1024});
  Opened opened(tests::Movie({sound}));
  SoundTimes times(base::Rational(1, 1000), 1000, 0);
  EXPECT_EQ(TakeSound(opened.source, opened.movie->tracks[0], times, {}), 0);
  const auto counted = times.Finish(0);
  EXPECT_EQ(counted.present, 2);  // chunks
  EXPECT_EQ(counted.bytes, 2000);
  EXPECT_NEAR(counted.end_s, 0.5, 1e-9);
  EXPECT_EQ(counted.gap_count, 0);
}

std::string Fragment(std::uint32_t decoded, std::uint32_t samples) {
  const std::string tfhd = Box("tfhd", Numbers({1, 40, 100}, 0x020018));
  const std::string tfdt = Box("tfdt", Numbers({decoded}));
  const std::string trun = Box("trun", Numbers({samples}));
  return Box("moof", Box("mfhd", Numbers({1})) + Box("traf", tfhd + tfdt + trun)) +
         Box("mdat", std::string(std::size_t{100} * samples, 'x'));
}

std::string FragmentedMovie() {
  MadeTrack track;
  track.stts = track.stsc = track.stco = Numbers({0});
  track.stsz = Numbers({0, 0});
  return tests::Movie({track}, Box("mvex", Box("trex", Numbers({1, 1, 40, 100, 0}))));
}

TEST(IsoFragments, GoOnWhereTheirTimesSay) {
  Opened opened(FragmentedMovie() + Fragment(0, 10) + Fragment(480, 10));
  ASSERT_TRUE(opened.movie);
  EXPECT_TRUE(opened.movie->fragmented);
  std::vector<IsoTrackPlace> places;
  PictureTimes pictures(base::Rational(1, 1000), std::nullopt);
  const auto end = WalkFragments(opened.source, *opened.movie, places, {},
                                 [&](std::size_t, const IsoSample& sample) {
                                   pictures.Add(PictureOf(sample, opened.movie->tracks[0]));
                                 });
  EXPECT_EQ(end.fragments, 2);
  EXPECT_EQ(end.past_end, 0);
  EXPECT_FALSE(end.cut);
  const auto times = pictures.Finish(0);
  EXPECT_EQ(times.present, 20);
  EXPECT_EQ(times.missing, 2);
}

TEST(IsoFragments, SayThatTheFileEndsInsideOne) {
  const std::string whole = FragmentedMovie() + Fragment(0, 10) + Fragment(400, 10);
  Opened opened(whole.substr(0, whole.size() - 450));
  std::vector<IsoTrackPlace> places;
  std::int64_t samples = 0;
  const auto end = WalkFragments(opened.source, *opened.movie, places, {},
                                 [&](std::size_t, const IsoSample&) { ++samples; });
  EXPECT_TRUE(end.cut);
  EXPECT_GT(end.past_end, 0);
  EXPECT_EQ(samples + end.past_end, 20);
}

TEST(IsoFragments, ClaimsOfBillionsOfSamplesEnd) {
  const std::string tfhd = Box("tfhd", Numbers({1, 40, 1}, 0x020018));
  std::string runs;
  for (int i = 0; i < 200; ++i) {
    runs += Box("trun", Numbers({0xffffffffU, 0}, 1));
  }
  Opened opened(FragmentedMovie() + Box("moof", Box("traf", tfhd + runs)));
  std::vector<IsoTrackPlace> places;
  std::int64_t samples = 0;
  WalkFragments(opened.source, *opened.movie, places, {},
                [&](std::size_t, const IsoSample&) { ++samples; });
  EXPECT_LE(samples, 2 * opened.source.size() + 1);
}

TEST(IsoSamples, AreStoppedAmongEntriesThatStandForNoSample) {
  constexpr std::int64_t kMany = std::int64_t{1} << 40;
  tests::ZerosBehind source("", 16 * kMany);
  IsoTrack track;
  track.ticks_per_second = 1000;
  track.durations = {0, kMany};
  track.sizes = {0, 1};
  PictureTimes pictures(base::Rational(1, 1000), std::nullopt);
  std::stop_source stop;
  stop.request_stop();
  EXPECT_EQ(TakePictures(source, track, pictures, stop.get_token()), 0);
}

std::string Broken(const std::string& whole, bool cut, std::mt19937& dice) {
  std::string bytes = whole;
  std::uniform_int_distribution<std::size_t> place(2020, whole.size() - 1);
  for (int change = 0; change < 4; ++change) {
    bytes[place(dice)] = static_cast<char>(dice());
  }
  bytes.resize(cut ? place(dice) : bytes.size());
  return bytes;
}

std::int64_t CountSamples(ByteSource& source, const IsoTrack& track) {
  IsoSamples samples(source, track, {});
  std::int64_t count = 0;
  while (samples.Next(false)) {
    ++count;
  }
  return count;
}

// Bytes of a small movie changed at random, and the movie cut: nothing may crash or hang.
TEST(IsoMovie, BrokenBytesNeverHurt) {
  MadeTrack track;
  track.ctts = Numbers({2, 5, 0, 5, 40});
  track.elst = Numbers({1, 240, 40, 0x10000});
  const std::string whole = tests::Movie({track, track}) + Fragment(0, 3);
  std::mt19937 dice(17);
  for (int turn = 0; turn < 100; ++turn) {
    Opened opened(Broken(whole, turn % 3 == 0, dice));
    if (!opened.movie) {
      continue;
    }
    for (const IsoTrack& each : opened.movie->tracks) {
      EXPECT_LE(CountSamples(opened.source, each), 2 * opened.source.size() + 2);
    }
  }
}

}  // namespace
}  // namespace probes
