// SPDX-License-Identifier: Apache-2.0
//
// The rows of headroom put together and ordered.

#include "report/headroom/headroom.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "report/headroom/ballast_figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

// Rank of a row: over capacity, unproven, the rest.
int Rank(const Headroom& row) {
  if (OverCapacity(row)) {
    return 0;
  }
  return row.capacity ? 2 : 1;
}

double Left(const Headroom& row) {
  return row.headroom_percent.value_or(0) - row.margin_percent;
}

}  // namespace

Headroom NewRow(Resource resource, std::string item, std::string unit) {
  Headroom row;
  row.resource = resource;
  row.item = std::move(item);
  row.unit = std::move(unit);
  return row;
}

double HeadroomPercent(double demand, double capacity) {
  constexpr double kLowest = -999;
  if (demand <= 0) {
    return capacity > 0 ? 100 : 0;
  }
  if (capacity <= 0) {
    return kLowest;
  }
  return std::max(kLowest, AsTold((capacity - demand) / capacity * 100));
}

void SetCapacity(Headroom& row, double capacity, Basis basis) {
  row.basis = basis;
  if (basis == Basis::kAssumed && row.demand > capacity) {
    return;
  }
  row.capacity = capacity;
  row.headroom_percent = HeadroomPercent(row.demand, capacity);
}

void SetCapacityFor(Headroom& row, double capacity, const AssumedPart& assumed) {
  const double certain = row.demand - assumed.demand;
  if (assumed.demand <= 0) {
    SetCapacity(row, capacity, Basis::kComputed);
  } else if (certain > capacity) {
    row.demand = certain;
    SetCapacity(row, capacity, Basis::kComputed);
    row.source += "; without the compressed pictures, whose size is assumed";
  } else {
    SetCapacity(row, capacity, Basis::kAssumed);
    row.source += "; demand assumed: " + assumed.Text();
  }
  if (!row.capacity) {
    row.source += fmt::format(
        ", which is more than the {} there; a device compresses as far as its link needs, and how "
        "far shows when it runs",
        FormatAvailable(capacity, row.unit));
    row.how_to_prove = assumed.how_to_prove;
  }
}

bool OverCapacity(const Headroom& row) {
  return row.capacity && row.headroom_percent && *row.headroom_percent < 0;
}

bool BelowMargin(const Headroom& row) {
  return row.headroom_percent && *row.headroom_percent < row.margin_percent;
}

std::vector<Headroom> AllHeadroom(const Facts& facts) {
  std::vector<Headroom> rows;
  CpuHeadroom(facts, rows);
  EncoderHeadroom(facts, rows);
  EncoderSupply(facts, rows);
  MemoryHeadroom(facts, rows);
  StorageHeadroom(facts, rows);
  if (facts.evidence.length != kRehearsalOnly) {
    UsbHeadroom(facts, rows);
    PcieHeadroom(facts, rows);
    CableHeadroom(facts, rows);
    NetworkHeadroom(facts, rows);
    DisplayHeadroom(facts, rows);
  }
  LowerByBallast(facts, rows);
  std::stable_sort(rows.begin(), rows.end(), [](const Headroom& a, const Headroom& b) {
    if (Rank(a) != Rank(b)) {
      return Rank(a) < Rank(b);
    }
    return Left(a) < Left(b);
  });
  return rows;
}

}  // namespace report
