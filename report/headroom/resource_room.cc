// SPDX-License-Identifier: Apache-2.0
//
// Runs the rows of headroom over a grown profile.

#include "report/headroom/resource_room.h"

#include <algorithm>

#include <fmt/format.h>

#include "profiles/demand/demand.h"
#include "profiles/demand/encode_sharing.h"
#include "report/headroom/ballast_figures.h"
#include "report/headroom/headroom.h"

namespace report {
namespace {

void MemoryOfGrown(const Facts& facts, double pool_before, std::vector<Headroom>& rows) {
  std::vector<Headroom> memory;
  MemoryHeadroom(facts, memory);
  for (Headroom& row : memory) {
    const auto& rehearsal = facts.results().rehearsal;
    if (rehearsal && rehearsal->peak_resident_bytes > 0) {
      row.demand += facts.demand().memory_pool_bytes - pool_before;
    }
    if (row.capacity) {
      SetCapacity(row, *row.capacity, row.basis);
    }
    rows.push_back(row);
  }
}

void MemoryTraffic(const Facts& facts, std::vector<Headroom>& rows) {
  const auto& contention = facts.results().contention;
  if (!contention || !(contention->memory_bytes_per_second > 0)) {
    return;
  }
  Headroom row = NewRow(Resource::kMemoryTraffic, "", "bytes/s");
  row.demand = facts.demand().memory_traffic_bytes_per_second;
  row.margin_percent = facts.profile().margins.memory_percent;
  SetCapacity(row, contention->memory_bytes_per_second, Basis::kMeasured);
  row.source =
      "needed: bytes touched per frame and stage, computed; available: copies by all CPUs at once";
  rows.push_back(row);
}

/// Pixels a second that the outputs of one hardware encoder ask of it.
void HardwareThroughput(const Facts& facts, std::vector<Headroom>& rows) {
  for (const bench::HardwareEncode& encoder : facts.results().hardware_encodes) {
    if (!(encoder.all_per_second > 0) || encoder.width <= 0 || encoder.height <= 0) {
      continue;
    }
    Headroom row = NewRow(Resource::kEncoder, encoder.encoder, "pixels/s");
    for (const profiles::Output& output : profiles::OnePerEncode(facts.profile().outputs)) {
      if (output.codec == encoder.codec && output.encoder != profiles::EncoderChoice::kSoftware) {
        row.demand += static_cast<double>(output.raster.Pixels()) * base::ToDouble(output.rate);
      }
    }
    row.margin_percent = facts.profile().margins.encoder_percent;
    SetCapacity(row, encoder.all_per_second * encoder.width * encoder.height, Basis::kMeasured);
    row.source = fmt::format("available: {} sessions of {}x{} in turn", encoder.sessions,
                             encoder.width, encoder.height);
    rows.push_back(row);
  }
}

/// Extra load showed how much of a disk there is, beside the production as it was: the same rate
/// counts for what is grown.
void LowerDisksByBallast(const Evidence& as_it_was, std::vector<Headroom>& rows) {
  const auto& runs = as_it_was.results.ballast;
  if (std::none_of(runs.begin(), runs.end(),
                   [](const auto& run) { return run.kind == bench::LoadKind::kDisk; })) {
    return;
  }
  const Facts facts = GatherFacts(as_it_was);
  std::vector<Headroom> was;
  StorageHeadroom(facts, was);
  LowerByBallast(facts, was);
  for (Headroom& row : rows) {
    const auto same = std::find_if(was.begin(), was.end(), [&row](const Headroom& other) {
      return other.resource == row.resource && other.item == row.item;
    });
    if (same != was.end() && row.resource == Resource::kDisk && row.capacity && same->capacity &&
        *same->capacity < *row.capacity) {
      SetCapacity(row, *same->capacity, same->basis);
      row.source = same->source;
    }
  }
}

}  // namespace

Evidence WithoutSeries(const Evidence& evidence) {
  Evidence light;
  light.profile = evidence.profile;
  light.demand = evidence.demand;
  light.inventory = evidence.inventory;
  light.length = evidence.length;
  light.results.disks = evidence.results.disks;
  for (bench::DiskRun& disk : light.results.disks) {
    disk.window_bytes_per_second.clear();
  }
  light.results.contention = evidence.results.contention;
  light.results.hardware_encodes = evidence.results.hardware_encodes;
  light.results.ballast = evidence.results.ballast;
  for (bench::BallastRun& ballast : light.results.ballast) {
    ballast.steps.clear();
  }
  if (const auto& full = evidence.results.rehearsal) {
    bench::Rehearsal rehearsal;
    rehearsal.complete = full->complete;
    rehearsal.seconds = full->seconds;
    rehearsal.warm_up_seconds = full->warm_up_seconds;
    rehearsal.peak_resident_bytes = full->peak_resident_bytes;
    for (const bench::OutputLedger& output : full->outputs) {
      bench::OutputLedger totals;
      totals.name = output.name;
      totals.due = output.due;
      rehearsal.outputs.push_back(totals);
    }
    light.results.rehearsal = rehearsal;
  }
  return light;
}

std::vector<Headroom> RowsOfGrown(const Evidence& evidence, const profiles::Profile& grown) {
  Evidence asked = WithoutSeries(evidence);
  const double pool_before = asked.demand.memory_pool_bytes;
  asked.profile = grown;
  asked.demand = profiles::SumDemand(grown);
  const Facts facts = GatherFacts(asked);
  std::vector<Headroom> rows;
  MemoryOfGrown(facts, pool_before, rows);
  MemoryTraffic(facts, rows);
  EncoderSupply(facts, rows);
  HardwareThroughput(facts, rows);
  StorageHeadroom(facts, rows);
  LowerDisksByBallast(evidence, rows);
  if (evidence.length != kRehearsalOnly) {
    UsbHeadroom(facts, rows);
    PcieHeadroom(facts, rows);
    NetworkHeadroom(facts, rows);
  }
  return rows;
}

}  // namespace report
