// SPDX-License-Identifier: Apache-2.0
//
// The SDI link that a picture needs, from its total raster.

#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "base/rational.h"
#include "profiles/profile.h"

namespace profiles {

struct SdiLink {
  std::int64_t bits_per_second = 0;  // rounded to the nearest; whole except for the /1.001 rates
  std::string_view name;             // the slowest single link that carries it
};

/// 4:2:2 10 bit, progressive: total samples x total lines x rate x 20 bit.
/// Nothing for rasters and rates that the tables of total rasters lack.
std::optional<SdiLink> SdiLinkFor(const Raster& raster, const base::Rational& rate);

}  // namespace profiles
