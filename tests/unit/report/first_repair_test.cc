// SPDX-License-Identifier: Apache-2.0

#include "report/first_repair.h"

#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "report/quantities.h"

namespace {

using report::Finding;
using report::FirstRepair;
using report::Headroom;
using report::Resource;
using report::Severity;

Headroom Row(Resource resource, std::optional<double> capacity, double left, double margin) {
  Headroom row;
  row.resource = resource;
  row.demand = 1;
  row.capacity = capacity;
  row.headroom_percent = capacity ? std::optional(left) : std::nullopt;
  row.margin_percent = margin;
  return row;
}

Finding Said(const std::string& id, Severity severity, std::vector<Resource> bears_on = {},
             const std::string& action = "Do it.") {
  Finding finding;
  finding.bears_on = std::move(bears_on);
  finding.id = id;
  finding.severity = severity;
  finding.action = action;
  return finding;
}

TEST(FirstRepair, IsOfTheWorstSeverityThatAsksForSomething) {
  const std::vector<Finding> findings = {Said("drops-encode", Severity::kStop, {}, ""),
                                         Said("swap", Severity::kNote),
                                         Said("disk-on-usb", Severity::kWarn)};
  EXPECT_EQ(FirstRepair({}, findings), &findings[2]);
  EXPECT_EQ(FirstRepair({}, {}), nullptr);
}

TEST(FirstRepair, BearsOnWhatLimitsTheVerdict) {
  const std::vector<Headroom> headroom = {Row(Resource::kCpu, 2, 10, 25),
                                          Row(Resource::kDisk, 9, 80, 40)};
  const std::vector<Finding> findings = {
      Said("disk-not-steady", Severity::kWarn, {Resource::kDisk}),
      Said("background-cpu", Severity::kWarn, {Resource::kCpu})};
  EXPECT_EQ(FirstRepair(headroom, findings), &findings[1]);
  const std::vector<Headroom> kept = {Row(Resource::kCpu, 2, 50, 25)};
  EXPECT_EQ(FirstRepair(kept, findings), &findings[0]);
}

TEST(FirstRepair, GoesByWhatAFindingTakesFromAndNotByItsId) {
  const std::vector<Headroom> headroom = {Row(Resource::kCpu, 2, 10, 25)};
  const std::vector<Finding> findings = {Said("cpu-table", Severity::kWarn, {Resource::kDisk}),
                                         Said("something", Severity::kWarn, {Resource::kCpu})};
  EXPECT_EQ(FirstRepair(headroom, findings), &findings[1]);
}

TEST(FirstRepair, LooksAtWhatIsOverBeforeWhatIsUnknownBeforeWhatIsTight) {
  const std::vector<Headroom> headroom = {Row(Resource::kCpu, 2, 10, 25),
                                          Row(Resource::kUsb, std::nullopt, 0, 20),
                                          Row(Resource::kSpace, 1, -20, 0)};
  const std::vector<Finding> findings = {
      Said("background-cpu", Severity::kWarn, {Resource::kCpu}),
      Said("usb-capture-missing", Severity::kWarn, {Resource::kUsb})};
  EXPECT_EQ(FirstRepair(headroom, findings), &findings[1]);
}

TEST(FormatHeadroomPercent, NeverReadsAsMoreThanThereIs) {
  EXPECT_EQ(report::FormatHeadroomPercent(24.99), "24 %");
  EXPECT_EQ(report::FormatHeadroomPercent(25), "25 %");
  EXPECT_EQ(report::FormatHeadroomPercent(8.99), "8.9 %");
  EXPECT_EQ(report::FormatHeadroomPercent(0.04), "0 %");
  EXPECT_EQ(report::FormatHeadroomPercent(-3.21), "-3.3 %");
  EXPECT_EQ(report::FormatHeadroomPercent(-40.1), "-41 %");
}

}  // namespace
