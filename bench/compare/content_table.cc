// SPDX-License-Identifier: Apache-2.0
//
// What each kind of painted picture asks of an encoder at fixed quality, real clips beside it: the
// table that stands in bench/RESULTS.md.
//
//   content_table WIDTHxHEIGHT [CLIP...]

#include <cstdio>
#include <filesystem>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "bench/feeds/clip_reader.h"
#include "bench/feeds/content.h"
#include "bench/feeds/fixed_quality.h"
#include "bench/stages/picture_scaler.h"
#include "profiles/words.h"

namespace {

using bench::PictureCost;
using Pictures = std::vector<base::FramePtr>;

constexpr int kPictures = 48;

base::Result<Pictures> Painted(profiles::Content content, const profiles::Raster& raster) {
  const bench::Painter painter(content, raster.width, raster.height, 1);
  Pictures pictures;
  for (int i = 0; i < kPictures; ++i) {
    auto picture = base::NewPicture(bench::kWorkingFormat, raster.width, raster.height);
    if (!picture) {
      return picture.error();
    }
    painter.Paint(i, kPictures, **picture);
    pictures.push_back(std::move(*picture));
  }
  return pictures;
}

/// A clip is played once, not in a circle: it need not end as it began.
base::Result<Pictures> FromClip(const std::string& file, const profiles::Raster& raster) {
  auto clip = bench::ReadClip(file, bench::FixedQuality().pictures, {});
  if (!clip) {
    return clip.error();
  }
  bench::PictureScaler scaler;
  Pictures pictures;
  for (const base::FramePtr& picture : *clip) {
    auto fitted = base::NewPicture(bench::kWorkingFormat, raster.width, raster.height);
    if (!fitted) {
      return fitted.error();
    }
    auto drawn = scaler.Draw(*picture, **fitted, {0, 0, raster.width, raster.height});
    if (!drawn) {
      return drawn.error();
    }
    pictures.push_back(std::move(*fitted));
  }
  return pictures;
}

/// The cheapest of three: other work on the PC only ever adds.
base::Result<PictureCost> Cost(const Pictures& pictures, profiles::Effort effort) {
  bench::FixedQuality asked;
  asked.effort = effort;
  auto best = bench::CostAtFixedQuality(pictures, asked);
  for (int i = 0; i < 2 && best; ++i) {
    const auto again = bench::CostAtFixedQuality(pictures, asked);
    if (again && again->cpu_ms < best->cpu_ms) {
      best = again;
    }
  }
  return best;
}

int Fail(const base::Error& error) {
  fmt::print(stderr, "content_table: {}: {}\n", error.where, error.detail);
  return 2;
}

class Rows {
 public:
  base::Status Add(const std::string& name, const base::Result<Pictures>& pictures) {
    if (!pictures) {
      return pictures.error();
    }
    fmt::print("| {} ", name);
    for (const profiles::Effort effort : {profiles::Effort::kLeast, profiles::Effort::kLow}) {
      const auto cost = Cost(*pictures, effort);
      if (!cost) {
        return cost.error();
      }
      double& plain_ms = plain_ms_[static_cast<std::size_t>(effort)];
      plain_ms = plain_ms == 0 ? cost->cpu_ms : plain_ms;
      fmt::print("| {:.0f} | {:.4f} | {:.2f} ", cost->bits, cost->bits_per_pixel,
                 cost->cpu_ms / plain_ms);
    }
    fmt::print("|\n");
    std::fflush(stdout);
    return base::Done{};
  }

 private:
  double plain_ms_[4] = {};
};

}  // namespace

int main(int argc, char** argv) {
  profiles::Raster raster;
  const std::string size = argc > 1 ? argv[1] : "";
  const std::size_t times = size.find('x');
  if (times != std::string::npos) {
    raster = {static_cast<int>(base::ParseInt(size.substr(0, times)).value_or(0)),
              static_cast<int>(base::ParseInt(size.substr(times + 1)).value_or(0))};
  }
  if (raster.width < 64 || raster.height < 64 || raster.width % 2 != 0 || raster.height % 2 != 0) {
    fmt::print(stderr, "usage: content_table WIDTHxHEIGHT [CLIP...], even and 64 at least\n");
    return 2;
  }
  base::KeepFfmpegComplaints();
  fmt::print("| {} at quantiser 28 | bits, least | a pixel | CPU | bits, low | a pixel | CPU |\n",
             profiles::ToText(raster));
  fmt::print("| --- | --- | --- | --- | --- | --- | --- |\n");
  Rows rows;
  for (const profiles::Content content : {profiles::Content::kPlain, profiles::Content::kTalk,
                                          profiles::Content::kStage, profiles::Content::kBusy}) {
    const auto added = rows.Add(std::string(profiles::ToWord(content)), Painted(content, raster));
    if (!added) {
      return Fail(added.error());
    }
  }
  for (int i = 2; i < argc; ++i) {
    const auto added =
        rows.Add(std::filesystem::path(argv[i]).filename().string(), FromClip(argv[i], raster));
    if (!added) {
      return Fail(added.error());
    }
  }
  return 0;
}
