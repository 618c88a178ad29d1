// SPDX-License-Identifier: Apache-2.0
//
// Codec levels against the standards' tables as FFmpeg and the standards carry them.

#include <cmath>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "base/text.h"
#include "profiles/demand/codec_level.h"
#include "tests/support/places.h"

namespace profiles {
namespace {

using base::Rational;

std::string H264(Raster raster, Rational rate, int kbps, int references = 1) {
  return H264LevelOf({raster, rate, kbps, references}).level;
}

std::string Hevc(Raster raster, Rational rate, int kbps) {
  return HevcLevelOf({raster, rate, kbps, 1}).level;
}

constexpr Raster k720{1280, 720};
constexpr Raster k1080{1920, 1080};
constexpr Raster k2160{3840, 2160};

// ITU-T H.264 Table A-1: 8160 macroblocks x 60 = 489600 <= 522240; 50000 x 1250 >= 40 Mb/s.
TEST(H264Levels, Of1080p60At40Mbps) {
  EXPECT_EQ(H264(k1080, 60, 40000), "4.2");
}

// Table A-1: level 4 holds the macroblocks (244800 <= 245760), its 25 Mb/s do not hold 30.
TEST(H264Levels, Of1080p30At30Mbps) {
  EXPECT_EQ(H264(k1080, 30, 30000), "4.1");
}

// Table A-1: 32400 x 60 = 1944000 <= 2073600.
TEST(H264Levels, Of2160p60At60Mbps) {
  EXPECT_EQ(H264(k2160, 60, 60000), "5.2");
}

// Lowest level by picture rate alone, from Table A-1 as in FFmpeg 5.1.9 libavcodec/h264_levels.c.
TEST(H264Levels, ByPictureRateAlone) {
  EXPECT_EQ(H264(k720, 30, 100), "3.1");
  EXPECT_EQ(H264(k720, 60, 100), "3.2");
  EXPECT_EQ(H264(k1080, 25, 100), "4");
  EXPECT_EQ(H264(k1080, 30, 100), "4");
  EXPECT_EQ(H264(k1080, 50, 100), "4.2");
  EXPECT_EQ(H264(k1080, Rational(60000, 1001), 100), "4.2");
  EXPECT_EQ(H264(k1080, 120, 100), "5.1");
  EXPECT_EQ(H264(k2160, 30, 100), "5.1");
  EXPECT_EQ(H264(k2160, 60, 100), "5.2");
}

// A.3.1 with Table A-1: floor(34816 / 8160) = 4 frames at level 4.2, 1080p.
TEST(H264Levels, HoldFourFramesOf1080pAt42) {
  EXPECT_EQ(H264(k1080, 60, 40000, 4), "4.2");
  EXPECT_EQ(H264(k1080, 60, 40000, 5), "5");
}

// A.3.1 with Table A-1: floor(32768 / 3600) = 9 frames at level 4, 720p.
TEST(H264Levels, HoldNineFramesOf720pAt4) {
  EXPECT_EQ(H264(k720, 60, 10000, 9), "4");
  EXPECT_EQ(H264(k720, 60, 10000, 10), "5");
}

// Max DPB frames at 2160p: level 5.1 holds 5, level 6 holds 16 (derived from Table A-1).
TEST(H264Levels, HoldFiveFramesOf2160pAt51) {
  EXPECT_EQ(H264(k2160, 30, 10000, 5), "5.1");
  EXPECT_EQ(H264(k2160, 30, 10000, 6), "6");
}

// ITU-T H.265 Tables A.8 and A.9: 124416000 <= 133693440; 20000 x 1000 = 20 Mb/s exactly.
TEST(HevcLevels, Of1080p60At20Mbps) {
  EXPECT_EQ(Hevc(k1080, 60, 20000), "4.1");
}

// Lowest level by picture rate alone, from FFmpeg 5.1.9 libavcodec/h265_profile_level.c.
TEST(HevcLevels, ByPictureRateAlone) {
  EXPECT_EQ(Hevc(k720, 60, 100), "4");
  EXPECT_EQ(Hevc(k1080, 30, 100), "4");
  EXPECT_EQ(Hevc(k1080, 60, 100), "4.1");
  EXPECT_EQ(Hevc(k2160, 30, 100), "5");
  EXPECT_EQ(Hevc(k2160, 60, 100), "5.1");
}

/// Rows of a stored table, one map from column to number each; the level stays text.
struct Row {
  std::string level;
  std::vector<std::int64_t> numbers;
};

std::vector<Row> ReadTable(const char* name, const std::vector<std::string>& columns) {
  std::ifstream in(support::Shared().string() + "/facts/" + name);
  std::vector<Row> rows;
  std::string line;
  std::getline(in, line);
  const std::string head = line;
  const auto titles = base::Split(head, ',');
  while (std::getline(in, line)) {
    const auto cells = base::Split(line, ',');
    Row row{std::string(cells[0]), {}};
    for (const std::string& column : columns) {
      const auto at = std::find(titles.begin(), titles.end(), column) - titles.begin();
      row.numbers.push_back(base::ParseInt(cells.at(static_cast<std::size_t>(at))).value_or(-1));
    }
    // Level 1b stands in the table twice, once for each way to write it.
    if (rows.empty() || rows.back().level != row.level) {
      rows.push_back(row);
    }
  }
  return rows;
}

/// The first level of the table whose column is at least `value`.
std::string FirstWith(const std::vector<Row>& rows, std::size_t column, std::int64_t value) {
  for (const Row& row : rows) {
    if (row.numbers[column] >= value) {
      return row.level;
    }
  }
  return "";
}

/// A raster of `blocks` blocks of `side`, as square as whole numbers allow.
Raster SquareOf(std::int64_t blocks, int side) {
  auto down = static_cast<std::int64_t>(std::sqrt(static_cast<double>(blocks)));
  while (blocks % down != 0) {
    --down;
  }
  return {static_cast<int>(blocks / down) * side, static_cast<int>(down) * side};
}

const Rational kSlow(1, 1000000);

class H264Table : public ::testing::Test {
 protected:
  void SetUp() override {
    rows_ = ReadTable("h264_levels.csv", {"MaxMBPS", "MaxFS", "MaxDpbMbs", "MaxBR"});
    if (rows_.empty()) {
      GTEST_SKIP() << "no stored table h264_levels.csv below " << support::Shared();
    }
    ASSERT_EQ(rows_.size(), 20U);
  }
  std::vector<Row> rows_;
};

// The stored table is parsed from FFmpeg 5.1.9 libavcodec/h264_levels.c ("H.264 table A-1").
TEST_F(H264Table, BitRateLimitsAgree) {
  for (const Row& row : rows_) {
    const std::int64_t most_kbps = row.numbers[3] * 1250 / 1000;
    const int exact = static_cast<int>(most_kbps);
    EXPECT_EQ(H264({64, 64}, 1, exact), FirstWith(rows_, 3, row.numbers[3])) << row.level;
    EXPECT_EQ(H264({64, 64}, 1, exact + 1), FirstWith(rows_, 3, row.numbers[3] + 1)) << row.level;
  }
}

TEST_F(H264Table, PictureRateLimitsAgree) {
  for (const Row& row : rows_) {
    // 64x64 has 16 macroblocks.
    const Rational exact(row.numbers[0], 16);
    EXPECT_EQ(H264({64, 64}, exact, 1), FirstWith(rows_, 0, row.numbers[0])) << row.level;
    const Rational more = exact + Rational(1, 16);
    EXPECT_EQ(H264({64, 64}, more, 1), FirstWith(rows_, 0, row.numbers[0] + 1)) << row.level;
  }
}

TEST_F(H264Table, RasterLimitsAgree) {
  for (const Row& row : rows_) {
    const Raster exact = SquareOf(row.numbers[1], 16);
    EXPECT_EQ(H264(exact, kSlow, 1), FirstWith(rows_, 1, row.numbers[1])) << row.level;
    const Raster more{exact.width + 2, exact.height};
    EXPECT_EQ(H264(more, kSlow, 1), FirstWith(rows_, 1, row.numbers[1] + 1)) << row.level;
  }
}

TEST_F(H264Table, FramesInFlightLimitsAgree) {
  for (const Row& row : rows_) {
    const Raster raster = SquareOf(row.numbers[1], 16);
    const std::int64_t most = std::min<std::int64_t>(row.numbers[2] / row.numbers[1], 16);
    // FirstWith by the DPB: the frames of this raster that it must hold.
    EXPECT_EQ(H264(raster, kSlow, 1, static_cast<int>(most)),
              FirstWith(rows_, 2, most * row.numbers[1]))
        << row.level;
    const std::string more = H264(raster, kSlow, 1, static_cast<int>(most) + 1);
    EXPECT_NE(more, row.level);
  }
}

class HevcTable : public ::testing::Test {
 protected:
  void SetUp() override {
    rows_ = ReadTable("hevc_levels.csv", {"MaxLumaPs", "MaxLumaSr", "MaxBR_main"});
    if (rows_.empty()) {
      GTEST_SKIP() << "no stored table hevc_levels.csv below " << support::Shared();
    }
    ASSERT_EQ(rows_.size(), 13U);
  }
  std::vector<Row> rows_;
};

// The stored table is parsed from FFmpeg 5.1.9 libavcodec/h265_profile_level.c.
TEST_F(HevcTable, LimitsAgree) {
  for (const Row& row : rows_) {
    const int kbps = static_cast<int>(row.numbers[2]);
    EXPECT_EQ(Hevc({64, 64}, 1, kbps), FirstWith(rows_, 2, kbps)) << row.level;
    EXPECT_EQ(Hevc({64, 64}, 1, kbps + 1), FirstWith(rows_, 2, kbps + 1)) << row.level;
    const Rational rate(row.numbers[1], 4096);
    EXPECT_EQ(Hevc({64, 64}, rate, 1), FirstWith(rows_, 1, row.numbers[1])) << row.level;
    EXPECT_EQ(Hevc({64, 64}, rate + Rational(1, 4096), 1), FirstWith(rows_, 1, row.numbers[1] + 1))
        << row.level;
    const Raster raster = SquareOf(row.numbers[0], 1);
    EXPECT_EQ(Hevc(raster, kSlow, 1), FirstWith(rows_, 0, row.numbers[0])) << row.level;
  }
}

class Av1Table : public ::testing::Test {
 protected:
  void SetUp() override {
    rows_ = ReadTable("av1_levels.csv", {"MaxPicSize", "MaxDisplayRate"});
    if (rows_.empty()) {
      GTEST_SKIP() << "no stored table av1_levels.csv below " << support::Shared();
    }
  }
  std::vector<Row> rows_;
};

// The stored table is copied from FFmpeg libavcodec/av1_levels.c. Its levels 5.3
// and 6.3 differ from 5.2 and 6.2 in the decode rate alone, which is not looked at.
TEST_F(Av1Table, LimitsAgree) {
  for (const Row& row : rows_) {
    const Rational rate(row.numbers[1], 4096);
    EXPECT_EQ(Av1LevelOf({{64, 64}, rate, 1, 1}).level, FirstWith(rows_, 1, row.numbers[1]));
    EXPECT_EQ(Av1LevelOf({SquareOf(row.numbers[0], 1), kSlow, 1, 1}).level,
              FirstWith(rows_, 0, row.numbers[0]));
  }
}

}  // namespace
}  // namespace profiles
