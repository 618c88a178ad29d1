// SPDX-License-Identifier: Apache-2.0

#include "tests/support/sample_rehearsals.h"

#include <algorithm>
#include <cstdlib>
#include <numeric>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace tests {

namespace fs = std::filesystem;

TemporaryFolder::TemporaryFolder() {
  std::string name = (fs::temp_directory_path() / "rigproof-test-XXXXXX").string();
  path_ = mkdtemp(name.data());
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

std::size_t TemporaryFolder::Entries() const {
  return static_cast<std::size_t>(
      std::distance(fs::directory_iterator(path_), fs::directory_iterator()));
}

profiles::Profile SmallProduction() {
  profiles::Profile profile;
  profile.name = "Small invented production";
  profile.duration_minutes = 1;
  profile.program_raster = {128, 64};
  profile.program_rate = 25;
  for (const char* name : {"Left", "Right"}) {
    profiles::Source source;
    source.name = name;
    source.raster = {128, 64};
    source.rate = 25;
    source.pixel_format = "nv12";
    profile.sources.push_back(source);
  }
  profiles::Output recording;
  recording.name = "Recording";
  recording.takes = "program";
  recording.raster = {128, 64};
  recording.rate = 25;
  recording.bitrate_kbps = 200;
  recording.encoder = profiles::EncoderChoice::kSoftware;
  recording.effort = profiles::Effort::kLeast;
  recording.container = "mkv";
  profile.outputs.push_back(recording);
  profiles::Output iso = recording;
  iso.name = "Iso: Left";
  iso.kind = profiles::OutputKind::kIso;
  iso.takes = "Left";
  profile.outputs.push_back(iso);
  return profile;
}

profiles::Source NetworkCamera(const std::string& codec, int bitrate_kbps) {
  profiles::Source source = SmallProduction().sources[0];
  source.arrives_by = profiles::ArrivesBy::kNetwork;
  source.pixel_format.clear();
  source.codec = codec;
  source.bitrate_kbps = bitrate_kbps;
  source.raster = {320, 192};
  source.content = profiles::Content::kStage;
  return source;
}

profiles::Profile RandomProduction(std::mt19937& random) {
  const auto pick = [&](int least, int most) {
    return std::uniform_int_distribution<int>(least, most)(random);
  };
  const std::vector<base::Rational> rates{{24000, 1001}, {25, 1}, {30, 1},
                                          {30000, 1001}, {50, 1}, {60000, 1001}};
  const auto rate = [&] { return rates[static_cast<std::size_t>(pick(0, 5))]; };
  const auto raster = [&] { return profiles::Raster{64 * pick(1, 4), 64 * pick(1, 3)}; };
  const std::vector<std::string> formats{"nv12", "yuyv422", "uyvy422", "yuv420p", "mjpeg", "bgra"};
  profiles::Profile profile = SmallProduction();
  profile.sources.clear();
  profile.outputs.clear();
  profile.program_raster = raster();
  profile.program_rate = rate();
  std::vector<std::string> takes{"program"};
  for (int i = 0, sources = pick(1, 4); i < sources; ++i) {
    profiles::Source source;
    source.name = "Source " + std::to_string(i);
    source.raster = raster();
    source.rate = rate();
    source.pixel_format = formats[static_cast<std::size_t>(pick(0, 5))];
    source.content = static_cast<profiles::Content>(pick(0, 3));
    profile.sources.push_back(source);
    takes.push_back(source.name);
  }
  if (pick(0, 1) == 1) {
    profile.multiview = profiles::Multiview{raster(), rate()};
    takes.push_back("multiview");
  }
  for (int i = 0, outputs = pick(1, 5); i < outputs; ++i) {
    profiles::Output output;
    output.name = "Output " + std::to_string(i);
    output.takes = takes[static_cast<std::size_t>(pick(0, static_cast<int>(takes.size()) - 1))];
    output.raster = raster();
    output.rate = rate();
    output.bitrate_kbps = 300;
    output.container = "mkv";
    profile.outputs.push_back(output);
  }
  // Each of them may be written to further places from the same encode.
  const std::vector<std::string> containers{"mkv", "mp4", "mpegts", "mov"};
  for (std::size_t i = 0, own = profile.outputs.size(); i < own; ++i) {
    for (int copy = 0, copies = std::max(0, pick(-1, 2)); copy < copies; ++copy) {
      profiles::Output output = profile.outputs[i];
      output.name += " copy " + std::to_string(copy);
      output.container = containers[static_cast<std::size_t>(pick(0, 3))];
      profile.outputs.push_back(output);
    }
  }
  return profile;
}

bench::Rehearsal Rehearse(const profiles::Profile& profile, bench::PlanOptions options,
                          double seconds, base::Clock& clock, const std::stop_token& stop) {
  options.cache_bytes = 1 << 20;
  auto plan = bench::MakePlan(profile, options);
  if (!plan) {
    ADD_FAILURE() << plan.error().where << ": " << plan.error().detail;
    return {};
  }
  auto feeds = bench::PrepareFeeds(*plan, {});
  if (!feeds) {
    ADD_FAILURE() << feeds.error().where << ": " << feeds.error().detail;
    return {};
  }
  auto run = bench::RunRehearsal(*plan, **feeds, seconds, clock, stop, [](double, std::int64_t) {});
  if (!run) {
    ADD_FAILURE() << run.error().where << ": " << run.error().detail;
    return {};
  }
  return *run;
}

void ExpectBalanced(const bench::Rehearsal& run) {
  for (const bench::OutputLedger& output : run.outputs) {
    EXPECT_EQ(output.due, output.delivered + output.dropped) << output.name;
    std::int64_t due = 0;
    for (const bench::LedgerWindow& window : output.seconds) {
      EXPECT_EQ(window.due, window.delivered + window.dropped) << output.name;
      EXPECT_LE(window.late, window.delivered) << output.name;
      due += window.due;
    }
    EXPECT_EQ(due, output.due) << output.name;
    std::int64_t in_runs = 0;
    for (const bench::DropRun& drop : run.drops) {
      in_runs += drop.output == output.name ? drop.frames : 0;
    }
    if (run.drop_runs_left_out == 0) {
      EXPECT_EQ(in_runs, output.dropped) << output.name;
    }
  }
  for (const bench::FeedLedger& feed : run.feeds) {
    EXPECT_EQ(feed.due, feed.delivered + feed.dropped) << feed.name;
  }
}

}  // namespace tests
