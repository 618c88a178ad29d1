// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/sdi_link.h"

#include <array>

namespace profiles {
namespace {

struct TotalRaster {
  Raster active;
  int rate;  // nominal; the same totals serve rate / 1.001
  int samples_per_line;
  int lines;
};

// Progressive rows of CTA-861's timing table as in Linux
// drivers/gpu/drm/drm_edid.c (edid_cea_modes), VIC in the comment; the totals
// are those of SMPTE ST 296 (720), ST 274 (1080) and ST 2036-1 (2160). 720p24
// and 720p30 differ in samples per line only (ST 296 has 4125 and 3300 there,
// from memory): the link is the same.
constexpr std::array kTotals{
    TotalRaster{{1280, 720}, 24, 3300, 750},     // 60
    TotalRaster{{1280, 720}, 25, 3960, 750},     // 61
    TotalRaster{{1280, 720}, 30, 3300, 750},     // 62
    TotalRaster{{1280, 720}, 50, 1980, 750},     // 19
    TotalRaster{{1280, 720}, 60, 1650, 750},     // 4
    TotalRaster{{1920, 1080}, 24, 2750, 1125},   // 32
    TotalRaster{{1920, 1080}, 25, 2640, 1125},   // 33
    TotalRaster{{1920, 1080}, 30, 2200, 1125},   // 34
    TotalRaster{{1920, 1080}, 50, 2640, 1125},   // 31
    TotalRaster{{1920, 1080}, 60, 2200, 1125},   // 16
    TotalRaster{{1920, 1080}, 100, 2640, 1125},  // 64
    TotalRaster{{1920, 1080}, 120, 2200, 1125},  // 63
    TotalRaster{{3840, 2160}, 24, 5500, 2250},   // 93
    TotalRaster{{3840, 2160}, 25, 5280, 2250},   // 94
    TotalRaster{{3840, 2160}, 30, 4400, 2250},   // 95
    TotalRaster{{3840, 2160}, 50, 5280, 2250},   // 96
    TotalRaster{{3840, 2160}, 60, 4400, 2250},   // 97
    TotalRaster{{4096, 2160}, 24, 5500, 2250},   // 98
    TotalRaster{{4096, 2160}, 60, 4400, 2250},   // 102
};

struct LinkRate {
  std::int64_t bits_per_second;
  std::string_view name;
};

// ST 292-1 and ST 424: 1.485 and 2.970 Gb/s. ST 2081 and ST 2082 say 6 and 12
// Gb/s nominal; the exact values are their rasters': 4400 x 2250 x 30 (60) x 20.
constexpr std::array kLinks{
    LinkRate{1'485'000'000, "HD-SDI (ST 292-1)"},
    LinkRate{2'970'000'000, "3G-SDI (ST 424)"},
    LinkRate{5'940'000'000, "6G-SDI (ST 2081)"},
    LinkRate{11'880'000'000, "12G-SDI (ST 2082)"},
};

constexpr int kBitsPerSample = 20;  // 10 bit luma beside 10 bit chroma

bool SameRate(const base::Rational& rate, int nominal) {
  return rate == base::Rational(nominal) || rate == base::Rational(nominal * 1000, 1001);
}

}  // namespace

std::optional<SdiLink> SdiLinkFor(const Raster& raster, const base::Rational& rate) {
  for (const TotalRaster& total : kTotals) {
    if (total.active != raster || !SameRate(rate, total.rate)) {
      continue;
    }
    const std::int64_t frame_bits =
        static_cast<std::int64_t>(total.samples_per_line) * total.lines * kBitsPerSample;
    const std::int64_t rounded = base::RoundedProduct(rate, frame_bits);
    for (const LinkRate& link : kLinks) {
      if (rounded <= link.bits_per_second) {
        return SdiLink{rounded, link.name};
      }
    }
  }
  return std::nullopt;
}

}  // namespace profiles
