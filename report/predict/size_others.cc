// SPDX-License-Identifier: Apache-2.0
//
// Resources of a changed production that arithmetic over stored readings gives.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/text/change.h"
#include "report/headroom/headroom.h"
#include "report/headroom/resource_room.h"
#include "report/predict/size_resources.h"

namespace report {
namespace {

const Headroom* SameRow(const std::vector<Headroom>& rows, const Headroom& row) {
  const auto found = std::find_if(rows.begin(), rows.end(), [&row](const Headroom& other) {
    return other.resource == row.resource && other.item == row.item;
  });
  return found == rows.end() ? nullptr : &*found;
}

void SetInterval(SizedResource& row) {
  row.lowest_percent = row.highest_percent = row.headroom_percent;
  const double spread = CapacitySpread(row);
  if (spread > 0 && row.capacity) {
    row.lowest_percent = HeadroomPercent(row.asked, *row.capacity * (1 - spread));
    row.highest_percent = HeadroomPercent(row.asked, *row.capacity * (1 + spread));
  }
}

bool Writes(const profiles::Profile& profile, std::string_view folder) {
  return std::any_of(profile.outputs.begin(), profile.outputs.end(),
                     [folder](const auto& output) { return output.folder == folder; });
}

/// The evidence with a second disk like the first where the production writes to kSecondDisk.
Evidence WithSecondDisk(const Evidence& evidence, const profiles::Profile& changed) {
  Evidence with = evidence;
  const std::string folder(profiles::kSecondDisk);
  if (!Writes(changed, folder) || with.inventory.storage.empty()) {
    return with;
  }
  probes::StorageInventory second = with.inventory.storage.front();
  second.folder = folder;
  second.mount_point = folder;
  second.filesystem_id = folder;
  second.free_bytes = second.size_bytes;  // a new one is empty
  second.writable = true;
  with.inventory.storage.push_back(second);
  if (!with.results.disks.empty()) {
    bench::DiskRun disk = with.results.disks.front();
    disk.folder = folder;
    with.results.disks.push_back(disk);
  }
  return with;
}

}  // namespace

double CapacitySpread(const SizedResource& row) {
  constexpr double kDiskSpread = 0.10;
  return row.resource == Resource::kDisk ? kDiskSpread : 0;
}

void SizeOthers(const Evidence& light, const std::vector<Headroom>& now,
                const profiles::Profile& changed, SizedProduction& sized) {
  const Evidence with = WithSecondDisk(light, changed);
  for (const Headroom& row : RowsOfGrown(with, changed)) {
    const Headroom* const before = SameRow(now, row);
    if (row.source == kNoCameraThere) {
      continue;  // a port for it is looked for
    }
    SizedResource one;
    one.resource = row.resource;
    one.item = row.item;
    one.unit = row.unit;
    one.now = before == nullptr ? 0 : before->demand;
    one.asked = row.demand;
    one.capacity = row.capacity;
    one.headroom_percent = row.headroom_percent;
    one.margin_percent = row.margin_percent;
    one.basis = row.item == profiles::kSecondDisk ? Basis::kAssumed : row.basis;
    one.source = row.source;
    one.how_to_prove = row.how_to_prove;
    SetInterval(one);
    one.sureness = SurenessOf(one);
    if (!row.capacity) {
      sized.unproven.push_back({row.resource, row.item,
                                fmt::format("{}: {}; {}", RowName(row.resource, row.item),
                                            row.source, row.how_to_prove)});
    }
    sized.resources.push_back(std::move(one));
  }
}

}  // namespace report
