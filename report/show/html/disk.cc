// SPDX-License-Identifier: Apache-2.0
//
// Sustained writing on the report page: what each folder held up, and whether it was steady.

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/html/charts.h"
#include "report/show/html/evidence.h"
#include "report/show/html/sections.h"

namespace report {

namespace {

std::string StepText(const bench::DiskRun& disk) {
  if (!disk.step_at_s) {
    return "none found";
  }
  std::string text = "after " + base::FormatSeconds(*disk.step_at_s);
  if (disk.step_ratio) {
    text += fmt::format(", to {} of the rate before", FormatPercent(*disk.step_ratio * 100));
  }
  return text;
}

show::Facts DiskFacts(const bench::DiskRun& disk) {
  show::Facts facts;
  facts.Add("Sustained", base::FormatBytesPerSecond(disk.sustained_bytes_per_second));
  facts.Add("Steady", disk.steady ? fmt::format("yes: within {} of the mean, slope {}",
                                                FormatPercent(disk.excursion_percent),
                                                FormatPercent(disk.slope_percent))
                                  : fmt::format("no: {} from the mean, slope {}",
                                                FormatPercent(disk.excursion_percent),
                                                FormatPercent(disk.slope_percent)));
  facts.Add("Step in the rate", StepText(disk));
  facts.Add("Written", fmt::format("{} in {}", base::FormatBytes(static_cast<double>(disk.bytes)),
                                   base::FormatSeconds(disk.seconds)));
  facts.Add("How", disk.method);
  if (!disk.stopped_because.empty()) {
    facts.Add("Stopped because", disk.stopped_because);
  }
  return facts;
}

}  // namespace

View DiskView(const Document& document) {
  const std::vector<bench::DiskRun>& disks = document.evidence.results.disks;
  const std::vector<Chart> charts = DiskCharts(document);
  ViewList list;
  for (std::size_t index = 0; index < disks.size(); ++index) {
    View view("folder", View(disks[index].folder));
    view.set("disk_facts", ToView(DiskFacts(disks[index])));
    view.set("disk_chart", charts[index].series.front().values.empty()
                               ? View(false)
                               : ToView(std::vector<Chart>{charts[index]}));
    list.emplace_back(view);
  }
  View view = SectionOf("folders", list);
  if (!list.empty()) {
    view.set("found", FindingsAt(document, ReportPart::kDiskRun));
  }
  return view;
}

}  // namespace report
