// SPDX-License-Identifier: Apache-2.0

#include "report/assess/first_repair.h"

#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "report/headroom/headroom.h"
#include "report/words/quantities.h"

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
      Said("usb-capture-missing", Severity::kWarn, {Resource::kUsb}),
      Said("space-short", Severity::kWarn, {Resource::kSpace})};
  EXPECT_EQ(FirstRepair(headroom, findings), &findings[2]);
  EXPECT_EQ(FirstRepair({headroom[0], headroom[1]}, findings), &findings[1]);
}

Finding Explains(Finding finding, std::int64_t frames) {
  finding.lost_frames = frames;
  return finding;
}

TEST(FirstRepair, IsTheReasonOfMostLostFramesWhateverItsSeverity) {
  const std::vector<Headroom> headroom = {Row(Resource::kDisk, 1, -20, 40)};
  std::vector<Finding> findings = {Explains(Said("drops-encode", Severity::kStop), 3),
                                   Explains(Said("drops-write", Severity::kStop), 900),
                                   Said("disk-not-steady", Severity::kStop, {Resource::kDisk}),
                                   Explains(Said("cause-CPU-taken", Severity::kWarn), 40),
                                   Explains(Said("cause-memory", Severity::kWarn), 40)};
  findings[1].action.clear();
  EXPECT_EQ(FirstRepair(headroom, findings), &findings[3]);
}

TEST(FirstRepair, IsWhatOtherProgramsTookWhereThatAloneSetsTheVerdict) {
  report::Document document;
  document.findings = {Said("background-cpu", Severity::kStop),  // of its own, by its name alone
                       Said("programs", Severity::kWarn)};
  document.findings[1].taken_by_others = Resource::kCpu;
  document.fair_test.took = {{Resource::kCpu, "other programs took 1 of 2 CPUs"}};
  EXPECT_EQ(FirstRepair(document), &document.findings[1]);
  document.fair_test.short_anyway = true;
  EXPECT_EQ(FirstRepair(document), &document.findings[0]);
}

TEST(FormatHeadroomPercent, NeverReadsAsMoreThanThereIs) {
  EXPECT_EQ(report::FormatHeadroomPercent(24.99), "24 %");
  EXPECT_EQ(report::FormatHeadroomPercent(25), "25 %");
  EXPECT_EQ(report::FormatHeadroomPercent(8.99), "8.9 %");
  EXPECT_EQ(report::FormatHeadroomPercent(0.04), "0 %");
  EXPECT_EQ(report::FormatHeadroomPercent(-3.21), "-3.3 %");
  EXPECT_EQ(report::FormatHeadroomPercent(-40.1), "-41 %");
  EXPECT_EQ(report::FormatHeadroomPercent(-999), "none");
}

TEST(FormatSpare, TellsWhatIsNeededWhereThereIsNothing) {
  EXPECT_EQ(report::FormatSpare(-999, 25, 4, 0, "sessions"), "4 needed, none available");
  EXPECT_EQ(report::FormatSpare(-999, 0, 2e9, 1e6, "bytes"), "2.00 GB needed, 1.00 MB available");
  EXPECT_EQ(report::FormatSpare(-40.1, 25, 4, 3, "sessions"), "-41 %");
}

/// Over a fine grid: what is shown stands on the same side of margin and capacity as the figure.
TEST(FormatHeadroomPercent, NeverContradictsItsVerdict) {
  const auto shown = [](const std::string& text) { return std::stod(text); };
  for (const double margin : {0.0, 5.0, 12.5, 24.6, 25.0, 33.3333, 33.33333333, 60.0, 99.99}) {
    const double shown_margin = shown(report::FormatMarginPercent(margin));
    for (int step = -200'000; step <= 1'000'000; step += 7) {
      const double percent = report::HeadroomPercent(1e6 - step, 1e6);
      const double as_shown = shown(report::FormatHeadroomPercent(percent, margin));
      ASSERT_EQ(as_shown >= shown_margin, percent >= margin)
          << percent << " against " << margin << " is shown as "
          << report::FormatHeadroomPercent(percent, margin);
      ASSERT_LE(as_shown, percent + 1e-9);
      ASSERT_EQ(shown(report::FormatHeadroomPercent(percent)) >= 0, percent >= 0);
      ASSERT_EQ(shown(report::FormatDroppedAtPercent(percent, margin)) > shown_margin,
                percent > shown_margin);
      ASSERT_GE(shown(report::FormatUsePercent(100 - percent)), 100 - percent - 1e-9);
    }
  }
}

TEST(FormatHeadroomPercent, TakesAsManyDigitsAsItsMarginNeeds) {
  EXPECT_EQ(report::FormatHeadroomPercent(99.6), "99 %");
  EXPECT_EQ(report::FormatHeadroomPercent(12.6, 12.5), "12.6 %");
  EXPECT_EQ(report::FormatHeadroomPercent(24.6, 25), "24 %");
  EXPECT_EQ(report::FormatMarginPercent(12.5), "12.5 %");
  EXPECT_EQ(report::FormatMarginPercent(25), "25 %");
  EXPECT_EQ(report::FormatMarginPercent(0), "0 %");
  EXPECT_EQ(report::FormatUsePercent(100.01), "101 %");
}

TEST(FormatNeeded, DoesNotReadAsIfItFitted) {
  EXPECT_EQ(report::FormatNeeded(4.001, "CPUs"), "4.01 CPUs");
  EXPECT_EQ(report::FormatAvailable(3.999, "CPUs"), "3.99 CPUs");
  EXPECT_EQ(report::FormatNeeded(4, "CPUs"), "4 CPUs");
  EXPECT_EQ(report::FormatNeeded(100.1e6, "bytes/s"), "101 MB/s");
  EXPECT_EQ(report::FormatAvailable(100.9e6, "bytes/s"), "100 MB/s");
  EXPECT_EQ(report::FormatNeeded(1234, "displays"), "1,234 displays");
  EXPECT_EQ(report::FormatAtMost(0.9991), "1");
  EXPECT_EQ(report::FormatAtMost(359.4), "360");
}

}  // namespace
