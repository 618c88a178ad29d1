// SPDX-License-Identifier: Apache-2.0
//
// CPU, encoding, memory and disks.

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "report/headroom/headroom.h"
#include "report/rules/rules.h"
#include "report/words/cautions.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report::rules {
namespace {

struct Shortage {
  Resource resource;
  const char* id;
  const char* action;
  bool inside = false;  // it may mean work inside the PC
};

constexpr std::array kShortages = std::to_array<Shortage>({
    {Resource::kCpu, "cpu-short",
     "Lower rasters, rates or the number of encodes, or use a hardware encoder."},
    {Resource::kEncoder, "encoder-short",
     "Lower the effort, raster, rate or number of encodes, or use a hardware encoder."},
    {Resource::kMemory, "memory-short", "Close other programs, or add memory.", true},
    {Resource::kDisk, "disk-short",
     "Record to a faster disk, split the recordings over disks, or lower the bit rates."},
});

// Where frames were dropped, the findings on them say which stage and why.
bool ToldByDrops(const RuleInput& input, const Headroom& row) {
  const auto& run = input.facts.run;
  const bool of_cpu = row.resource == Resource::kCpu || row.resource == Resource::kEncoder;
  return of_cpu && run && run->Dropped() > 0 && !run->Permitted();
}

}  // namespace

void ResourceShort(const RuleInput& input, std::vector<Finding>& findings) {
  for (const Headroom& row : input.headroom) {
    const auto* shortage =
        std::find_if(kShortages.begin(), kShortages.end(),
                     [&](const Shortage& one) { return one.resource == row.resource; });
    if (shortage == kShortages.end() || !OverCapacity(row) || ToldByDrops(input, row)) {
      continue;
    }
    Finding finding = NewFinding(shortage->id, Severity::kStop);
    finding.title =
        fmt::format("{}: {} needed, {} available", Capitalised(ResourceText(row)),
                    FormatNeeded(row.demand, row.unit), FormatAvailable(*row.capacity, row.unit));
    finding.evidence.push_back(row.source);
    finding.action =
        shortage->inside ? WithCaution(shortage->action, kCautionInside) : shortage->action;
    finding.bears_on = {shortage->resource};
    findings.push_back(std::move(finding));
  }
}

}  // namespace report::rules
