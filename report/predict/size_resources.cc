// SPDX-License-Identifier: Apache-2.0

#include "report/predict/size_resources.h"

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/demand.h"
#include "profiles/text/change.h"
#include "report/headroom/headroom.h"
#include "report/headroom/resource_room.h"
#include "report/loads/facts.h"
#include "report/predict/size_ports.h"

namespace report {

// Resources of a changed production that arithmetic over stored readings gives.

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

// Rows of cameras that are to be plugged in: the port that carries each, or that none does.

namespace {

constexpr const char* kProve =
    "plug every camera in where it will be, then `rigproof survey PROFILE`";

SizedResource RowOf(const PlacedCamera& camera, double margin_percent) {
  SizedResource row;
  row.resource = Resource::kUsb;
  row.unit = "bytes/s";
  row.margin_percent = margin_percent;
  row.basis = camera.assumption.empty() ? Basis::kComputed : Basis::kAssumed;
  if (camera.port.empty()) {
    row.item = "a port for " + camera.source;
    row.asked = camera.bytes_per_second;
    row.capacity = 0;
    row.headroom_percent = HeadroomPercent(row.asked, 0);
    row.source = fmt::format("no free port has {} left below its margin",
                             base::FormatBytesPerSecond(camera.bytes_per_second));
  } else {
    row.item = fmt::format("{} on {}: {}", camera.source, camera.port, camera.link);
    row.now = camera.link_bytes_per_second - camera.bytes_per_second;
    row.asked = camera.link_bytes_per_second;
    row.capacity = camera.link_capacity;
    row.headroom_percent = HeadroomPercent(row.asked, camera.link_capacity);
    row.source = "a free port, and the fullest link on its way; payload of the pictures";
  }
  row.lowest_percent = row.highest_percent = row.headroom_percent;
  row.sureness = SurenessOf(row);
  return row;
}

}  // namespace

void SizeUsb(const Evidence& light, const profiles::Profile& changed, SizedProduction& sized) {
  Evidence asked = light;
  asked.profile = changed;
  asked.demand = profiles::SumDemand(changed);
  const Facts facts = GatherFacts(asked);
  if (light.length == kRehearsalOnly || facts.usb.Missing().empty()) {
    return;  // links are for a qualification or survey to judge
  }
  const auto& present = light.inventory.usb.present;
  const PortPlan plan = PlaceCameras(facts, changed.margins.usb_percent);
  if (!present.known() || !plan.known) {
    sized.unproven.push_back({Resource::kUsb, "",
                              fmt::format("usb: {}; {}",
                                          present.known() ? "no port of this PC could be looked at"
                                                          : present.why_unknown(),
                                          kProve)});
    return;
  }
  const bool none_placed = std::any_of(plan.cameras.begin(), plan.cameras.end(),
                                       [](const PlacedCamera& one) { return one.port.empty(); });
  if (none_placed && !GatherFacts(light).usb.Missing().empty()) {
    sized.unproven.push_back(
        {Resource::kUsb, "",
         fmt::format("usb: cameras of the production were not there when the result was made, and "
                     "its free ports do not carry all of them; {}",
                     kProve)});
    return;
  }
  for (const PlacedCamera& camera : plan.cameras) {
    if (camera.port.empty() && !camera.assumption.empty()) {
      sized.unproven.push_back(
          {Resource::kUsb, "",
           fmt::format(
               "usb: no free port has {} left below its margin for {}, by an assumption: {}; {}",
               base::FormatBytesPerSecond(camera.bytes_per_second), base::Printable(camera.source),
               camera.assumption, kProve)});
      continue;
    }
    if (camera.past_one_port) {
      sized.unproven.push_back(
          {Resource::kUsb, "",
           fmt::format(
               "usb: {} on {}: one port's worth of its controller is passed, and what the "
               "controller "
               "itself carries is not known; `rigproof line-check PROFILE` with all cameras tells",
               base::Printable(camera.source), camera.port)});
    }
    sized.resources.push_back(RowOf(camera, changed.margins.usb_percent));
  }
}

}  // namespace report
