// SPDX-License-Identifier: Apache-2.0
//
// The files of the page, embedded.

#pragma once

#include <string_view>
#include <vector>

namespace cli {

struct Asset {
  std::string_view path;  // "/page.js", below the place of the page
  std::string_view type;
  std::string_view text;
};

/// "/" first.
const std::vector<Asset>& Assets();

}  // namespace cli
