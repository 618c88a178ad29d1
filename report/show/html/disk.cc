// SPDX-License-Identifier: Apache-2.0
//
// Writing tests on the report page: in words, and drawn over time.

#include "report/show/rows/disk.h"

#include <string>
#include <vector>

#include "report/show/html/charts.h"
#include "report/show/html/evidence.h"
#include "report/show/html/sections.h"

namespace report {

View DiskView(const Document& document) {
  const std::vector<bench::DiskRun>& disks = document.evidence.results.disks;
  const std::vector<Chart> charts = DiskCharts(document);
  ViewList list;
  for (std::size_t index = 0; index < disks.size(); ++index) {
    View view = ToView(DiskPart(disks[index]));
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
