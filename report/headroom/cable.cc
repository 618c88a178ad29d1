// SPDX-License-Identifier: Apache-2.0
//
// Headroom of cables that the profile names and that cannot carry their pictures.

#include <cstddef>

#include "base/text.h"
#include "report/headroom/headroom.h"
#include "report/loads/assumed_demand.h"
#include "report/loads/cable_lines.h"
#include "report/loads/subjects.h"

namespace report {

void CableHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  const auto& sources = facts.profile().sources;
  for (std::size_t i = 0; i < sources.size() && i < facts.demand().sources.size(); ++i) {
    const double asked = facts.demand().sources[i].bytes_per_second;
    if (!CableTooSlow(sources[i], asked)) {
      continue;  // a limit that is kept is the port's to show
    }
    Headroom row =
        NewRow(Resource::kUsb, "the USB 2 cable of " + base::Printable(sources[i].name), "bytes/s");
    row.about = {SourceSubject(sources[i].name)};
    row.demand = asked;
    row.margin_percent = facts.profile().margins.usb_percent;
    row.source = "capacity: 480 Mb/s of signalling, before any overhead";
    const std::string assumption = AssumptionOf(sources[i]);
    AssumedPart assumed{
        assumption.empty() ? 0 : asked,
        {},
        "open the camera with that cable and count its frames (rigproof line-check)"};
    assumed.Add(assumption);
    SetCapacityFor(row, kUsb2CableBytesPerSecond, assumed);
    rows.push_back(row);
  }
}

}  // namespace report
