// SPDX-License-Identifier: Apache-2.0
//
// Sample tables and fragments of MP4 files, whole, cut short and hostile.

#include "probes/recording/iso/samples.h"

#include <algorithm>
#include <random>
#include <span>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/recording/iso/fragments.h"
#include "probes/recording/iso/sound.h"
#include "tests/support/made_movie.h"
#include "tests/support/zeros_behind.h"

namespace probes {
namespace {

using testing::SizeIs;
using tests::Big;
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

struct WalkedFragments {
  IsoFragmentEnd end;
  TrackTimes times;
};

WalkedFragments WalkThrough(const std::string& file) {
  Opened opened(file);
  std::vector<IsoTrackPlace> places;
  PictureTimes pictures(base::Rational(1, 1000), std::nullopt);
  const auto end = WalkFragments(opened.source, *opened.movie, places, {},
                                 [&](std::size_t, const IsoSample& sample) {
                                   pictures.Add(PictureOf(sample, opened.movie->tracks[0]));
                                 });
  return {end, pictures.Finish(0)};
}

TEST(IsoFragments, ZerosInTheMiddleAreDamageAndTheNextFragmentIsFound) {
  std::string file = FragmentedMovie();
  const std::size_t before = file.size();
  file += Fragment(0, 10);
  const std::size_t from = file.size();
  file += Fragment(400, 10);
  const std::size_t to = file.size();
  file += Fragment(800, 10);
  const auto whole = WalkThrough(file);
  EXPECT_EQ(whole.end.damaged_places, 0);
  EXPECT_EQ(whole.times.missing, 0);
  std::string zeroed = file;
  std::fill(zeroed.begin() + static_cast<std::ptrdiff_t>(from),
            zeroed.begin() + static_cast<std::ptrdiff_t>(to), '\0');
  const auto damaged = WalkThrough(zeroed);
  EXPECT_EQ(damaged.end.damaged_places, 1);
  EXPECT_EQ(damaged.end.damaged_at, static_cast<std::int64_t>(from));
  EXPECT_EQ(damaged.times.missing, 10);
  EXPECT_EQ(damaged.times.present, 20);
  // Zeros inside the boxes of one fragment are told, too.
  std::string inside = file;
  std::fill_n(inside.begin() + static_cast<std::ptrdiff_t>(before + 24), 30, '\0');
  EXPECT_GT(WalkThrough(inside).end.damaged_places, 0);
}

TEST(IsoFragments, AnotherRecordingBehindItIsTold) {
  const std::string file = FragmentedMovie() + Fragment(0, 10);
  const auto twice = WalkThrough(file + file);
  EXPECT_EQ(twice.end.other_at, static_cast<std::int64_t>(file.size()));
  EXPECT_EQ(WalkThrough(file).end.other_at, -1);
}

TEST(IsoMovie, AnotherRecordingBehindItIsTold) {
  const std::string file = tests::Movie({MadeTrack{}});
  EXPECT_EQ(Opened(file).movie->other_at, -1);
  EXPECT_EQ(Opened(file + file).movie->other_at, static_cast<std::int64_t>(file.size()));
}

/// A sound sample entry of version 0 at 48,000 a second, with `boxes` behind it.
IsoTrack SoundEntry(const std::string& coding, int bits, const std::string& boxes) {
  const std::string head = std::string(6, '\0') + Big(1, 2) + Big(0, 8) + Big(2, 2) +
                           Big(static_cast<std::uint64_t>(bits), 2) + Big(0, 4) +
                           Big(48'000U << 16U, 4);
  const std::string box = Box(coding, head + boxes);
  MemoryBytes source(std::span(reinterpret_cast<const std::uint8_t*>(box.data()), box.size()));
  ByteWindow window(source);
  IsoTrack track;
  track.kind = TrackKind::kAudio;
  track.ticks_per_second = 48'000;
  const auto entry = ReadIsoBox(window, 0, source.size());
  track.coding = entry->type;
  ReadSoundEntry(window, *entry, track);
  return track;
}

/// ES, decoder configuration and AudioSpecificConfig (ISO/IEC 14496-1, 7.2.6; 14496-3, 1.6.2.1).
std::string Esds(int object, const std::string& config) {
  const auto tag = [](int number, const std::string& content) {
    return Big(static_cast<std::uint64_t>(number), 1) + Big(content.size(), 1) + content;
  };
  const std::string decoder =
      Big(static_cast<std::uint64_t>(object), 1) + std::string(12, '\0') + tag(5, config);
  return Box("esds", Big(0, 4) + tag(3, Big(1, 2) + Big(0, 1) + tag(4, decoder)));
}

TEST(IsoSound, BlocksAreAsLongAsTheirCodecMakesThem) {
  const auto seconds = [](const IsoTrack& track, std::int64_t bytes, std::int64_t usual) {
    return SoundInBlock(track, bytes, usual);
  };
  // AAC-LC, 48,000 a second (index 3): 0x11 0x90. Durations that jitter do not change it.
  const IsoTrack aac = SoundEntry("mp4a", 16, Esds(0x40, "\x11\x90"));
  EXPECT_DOUBLE_EQ(seconds(aac, 200, 1023), 1024.0 / 48'000);
  // SBR (object 5) over a core of 24,000 (index 6), extension 48,000 (index 3): 0x2b 0x11 0x88.
  const IsoTrack sbr = SoundEntry("mp4a", 16, Esds(0x40, "\x2b\x11\x88"));
  EXPECT_DOUBLE_EQ(seconds(sbr, 200, 2048), 2048.0 / 48'000);
  EXPECT_DOUBLE_EQ(seconds(SoundEntry("mp4a", 16, Esds(0x6b, "")), 200, 0), 1152.0 / 48'000);
  EXPECT_DOUBLE_EQ(seconds(SoundEntry("ac-3", 16, ""), 200, 0), 1536.0 / 48'000);
  EXPECT_DOUBLE_EQ(seconds(SoundEntry("Opus", 16, ""), 200, 965), 0.02);
  EXPECT_DOUBLE_EQ(seconds(SoundEntry("sowt", 16, ""), 4 * 546, 1), 546.0 / 48'000);
  EXPECT_DOUBLE_EQ(seconds(SoundEntry("in24", 16, ""), 6 * 100, 1), 100.0 / 48'000);
  EXPECT_DOUBLE_EQ(seconds(SoundEntry("????", 16, ""), 200, 1024), 0);
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
