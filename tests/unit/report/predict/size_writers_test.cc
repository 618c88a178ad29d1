// SPDX-License-Identifier: Apache-2.0
//
// A sizing on a terminal: exact bytes, and strangers' text without escape codes.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/rows/sizing.h"
#include "report/show/terminal/blocks.h"
#include "tests/support/golden.h"

namespace report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

SizedResource Cpu() {
  SizedResource row;
  row.resource = Resource::kCpu;
  row.unit = "CPUs";
  row.now = 2;
  row.asked = 4.5;
  row.capacity = 4;
  row.headroom_percent = -12.5;
  row.lowest_percent = -30;
  row.highest_percent = 5;
  row.margin_percent = 25;
  row.sureness = Sureness::kLikely;
  row.source = "rehearsed";
  return row;
}

SizedResource Disk() {
  SizedResource row;
  row.resource = Resource::kDisk;
  row.item = "/recordings";
  row.unit = "bytes/s";
  row.now = 2e6;
  row.asked = 4e6;
  row.capacity = 200e6;
  row.headroom_percent = 98;
  row.margin_percent = 40;
  row.sureness = Sureness::kSure;
  return row;
}

Sizing Sample(const std::string& stranger) {
  Sizing sizing;
  sizing.result.name = "rig/result.json";
  sizing.result.production = stranger;
  sizing.result.machine = "Invented CPU, 4 CPUs";
  sizing.result.started_at = "2026-01-10T18:00:00Z";
  sizing.changes = {{"sources", stranger + " +1", "not there", "there (1920x1080)"}};
  sizing.verdict = Verdict::kShort;
  sizing.sureness = Sureness::kLikely;
  sizing.headline = "It does not fit (likely, not sure); runs out first: cpu, -13 % headroom";
  sizing.resources = {Cpu(), Disk()};
  sizing.unproven = {"usb: no port of this PC could be looked at"};
  Remedy effort;
  effort.what = "Encode the isos with effort \"least\"";
  effort.changes = {"isos.effort=least"};
  effort.cost = RemedyCost::kWorkPerPicture;
  effort.verdict = Verdict::kTight;
  effort.assumed = true;
  effort.effect = "cpu -13 % -> 11 %";
  sizing.remedies = {effort};
  sizing.purchases = {{"encode speed", 1.5, 1.2, 1.9, "times this PC",
                       "A PC that sustains 1.5 times the video encoding of this one",
                       "this production would run at 0.89 x real time here"}};
  sizing.basis = {"CPU: by stages."};
  sizing.cautions = {"A prediction."};
  SizingCheck check;
  check.text = "Rehearsed for 30 s: 12 of 4,500 frames dropped, more than the profile allows";
  sizing.check = check;
  return sizing;
}

TEST(WriteSizing, ShowsRoomRemediesAndWhatToBuy) {
  tests::ExpectGolden("sizing_80.txt", WriteSheets({SheetOf(Sample("Quarry talk"))}, {false, 80}));
}

TEST(WriteSizing, StacksOnANarrowTerminal) {
  tests::ExpectGolden("sizing_40.txt", WriteSheets({SheetOf(Sample("Quarry talk"))}, {false, 40}));
}

TEST(WriteSizing, LetsNoEscapeCodeThrough) {
  EXPECT_THAT(WriteSheets({SheetOf(Sample("\x1B[2J\xE2\x80\xAE"))}, {false, 80}),
              Not(HasSubstr("\x1B")));
}

}  // namespace
}  // namespace report
