// SPDX-License-Identifier: Apache-2.0

#include "report/show/size_words.h"

#include <cmath>

#include <fmt/format.h>

#include "report/fields/sizing.h"
#include "report/words/quantities.h"

namespace report {

std::string SizedName(const SizedResource& row) {
  return RowName(row.resource, row.item);
}

std::string SizedSpare(const SizedResource& row) {
  if (!row.headroom_percent) {
    return "not known";
  }
  constexpr double kNothingThere = -998;
  if (*row.headroom_percent <= kNothingThere) {
    return "none available";
  }
  std::string text = FormatHeadroomPercent(*row.headroom_percent, row.margin_percent) + " headroom";
  if (row.lowest_percent && row.highest_percent && *row.lowest_percent != *row.highest_percent) {
    text +=
        fmt::format(" ({} to {})", FormatHeadroomPercent(*row.lowest_percent, row.margin_percent),
                    FormatHeadroomPercent(*row.highest_percent, row.margin_percent));
  }
  return text;
}

std::string SurenessText(Sureness sureness) {
  return std::string(stored::WordOf(sureness));
}

std::string CostText(RemedyCost cost) {
  return std::string(stored::WordOf(cost));
}

}  // namespace report
