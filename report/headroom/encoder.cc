// SPDX-License-Identifier: Apache-2.0
//
// Headroom of the pipeline as a whole, and the encoders that the profile needs.

#include <algorithm>
#include <map>
#include <string>

#include <fmt/format.h>

#include "report/cpu/encode_costs.h"
#include "report/headroom/cpu_room.h"
#include "report/headroom/encoder_supply.h"
#include "report/headroom/headroom.h"

namespace report {
namespace {

constexpr char kQualify[] = "qualify the profile on this PC: `rigproof qualify PROFILE`";

bool FromCosts(const Facts& facts, Headroom& row) {
  const auto& costs = facts.results().costs;
  const auto& usable = facts.machine().cpu.usable_cpus;
  if (!costs || !usable.known()) {
    return false;
  }
  const std::optional<double> cpus = EncodeCpus(*costs, facts.profile());
  if (!cpus || *cpus <= 0) {
    return false;
  }
  if (const auto room = FindCpuRoom(facts)) {
    row.demand = 1;
    SetCapacity(row, room->speed, Basis::kAssumed);
    row.source =
        "available: as much of the same work as fills 95 % of the CPUs (assumed: no run at full "
        "speed used them up), or their encodes by the CPU time of single frames";
    row.how_to_prove = row.capacity ? "" : kQualify;
    return true;
  }
  row.unit = "CPUs";
  row.demand = *cpus;
  SetCapacity(row, *usable, Basis::kComputed);
  row.source =
      "needed: rate x CPU time of one encoded frame, all outputs; available: usable CPUs. "
      "Encoding alone: the rest of the pipeline is not in it";
  return true;
}

}  // namespace

void EncoderHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  if (facts.profile().outputs.empty()) {
    return;
  }
  Headroom row = NewRow(Resource::kEncoder, kWholePipeline, "x real time");
  row.margin_percent = facts.profile().margins.encoder_percent;
  const auto& flat_out = facts.results().flat_out;
  if (const auto speed = SpeedFlatOut(facts)) {
    row.demand = 1;
    SetCapacity(row, *speed, Basis::kMeasured);
    const bench::GrownFlatOut* const grown = FasterWithMore(facts.results());
    row.source =
        grown == nullptr
            ? fmt::format(
                  "available: the same pipeline run as fast as it goes for {:.0f} s, a low "
                  "percentile of its windows",
                  flat_out->seconds)
            : fmt::format(
                  "available: the same pipeline with {} more sources run as fast as it goes "
                  "for {:.0f} s, which was faster than by itself",
                  grown->added, grown->run.seconds);
  } else if (!FromCosts(facts, row)) {
    row.demand = 1;
    row.source = flat_out ? "the run at full speed was cut short" : "not run at full speed";
    row.how_to_prove = kQualify;
  }
  rows.push_back(row);
}

void EncoderSupply(const Facts& facts, std::vector<Headroom>& rows) {
  for (const EncoderNeed& need : EncoderNeeds(facts.profile())) {
    const probes::CodecInventory& codecs = facts.machine().codecs;
    Headroom row = NewRow(Resource::kEncodeSessions, "", "sessions");
    row.item = need.What();
    row.demand = need.count;
    if (!codecs.tried.known() || !*codecs.tried) {
      // A rehearsal that ran has encoded with what it needed.
      if (facts.run && facts.run->due > 0) {
        continue;
      }
      row.source = codecs.tried.known() ? "no encoder was tried" : codecs.tried.why_unknown();
      row.how_to_prove =
          facts.machine().live
              ? "qualify the profile on this PC: encoders are opened and made to encode"
              : "run on the PC itself: encoders are opened and made to encode";
      rows.push_back(row);
      continue;
    }
    const EncoderSource supply = SupplyFor(need, codecs);
    if (supply.works && !supply.sessions) {
      continue;  // software: as many as the CPU carries, which has its own row
    }
    SetCapacity(row, supply.works ? static_cast<double>(*supply.sessions) : 0, Basis::kMeasured);
    row.source = supply.works ? "sessions opened at once with " + supply.encoder
                              : "none of this PC's encoders for it opened";
    rows.push_back(row);
  }
}

}  // namespace report
