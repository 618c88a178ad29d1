// SPDX-License-Identifier: Apache-2.0
//
// The evidence with the sums that headroom, findings and verdict all start from.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/data/document.h"
#include "report/loads/cpu_use.h"
#include "report/loads/judged_run.h"
#include "report/loads/recording_place.h"
#include "report/loads/source_match.h"
#include "report/loads/usb_load.h"
#include "report/loads/usb_stream.h"

namespace report {

/// Borrows the evidence: it lives no longer than that.
struct Facts {
  const Evidence& evidence;
  SourceMatch usb;
  std::vector<UsbStream> streams;
  std::vector<UsbLink> links;
  std::optional<JudgedRun> run;
  std::optional<CpuUse> cpu;
  std::vector<RecordingPlace> places;

  const profiles::Profile& profile() const { return evidence.profile; }
  const profiles::Demand& demand() const { return evidence.demand; }
  const probes::Inventory& machine() const { return evidence.inventory; }
  const bench::Results& results() const { return evidence.results; }
};

Facts GatherFacts(const Evidence& evidence);

/// Network demand of the profile's streams, bits/s on the wire.
struct StreamDemand {
  double loopback = 0;
  double abroad = 0;  // to addresses of the user's own
  std::vector<std::string> abroad_names;
  std::vector<std::string> loopback_names;
};
StreamDemand SumStreams(const Evidence& evidence);

/// The link that holds the default route of the lowest metric, or null.
const probes::NetworkLink* DefaultLink(const probes::NetworkInventory& network);

}  // namespace report
