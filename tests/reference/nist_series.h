// SPDX-License-Identifier: Apache-2.0
//
// Series of the NIST Statistical Reference Datasets, where they are at hand.

#pragma once

#include <filesystem>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "base/text.h"
#include "tests/support/places.h"

namespace tests {

/// By set; empty when the file is not here.
inline std::map<std::string, std::vector<double>> NistSeries() {
  std::ifstream stream(support::Shared() / "facts/nist_univariate.csv");
  std::map<std::string, std::vector<double>> sets;
  for (std::string line; std::getline(stream, line);) {
    const auto cells = base::Split(base::Trim(line), ',');
    const auto value = base::ParseDouble(cells.back());
    if (cells.size() == 3 && value) {
      sets[std::string(cells[0])].push_back(*value);
    }
  }
  return sets;
}

}  // namespace tests
