// SPDX-License-Identifier: Apache-2.0
//
// Rows of cameras that are to be plugged in: the port that carries each, or that none does.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/demand.h"
#include "report/headroom/headroom.h"
#include "report/loads/facts.h"
#include "report/predict/size_ports.h"
#include "report/predict/size_resources.h"

namespace report {
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
