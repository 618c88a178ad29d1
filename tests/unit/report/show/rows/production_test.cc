// SPDX-License-Identifier: Apache-2.0
//
// The production profile in words.

#include "report/show/rows/production.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/terminal/blocks.h"
#include "tests/support/sample_verdict.h"

namespace report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

Evidence Quarry() {
  Evidence evidence;
  evidence.profile = tests::QuarryProfile();
  return evidence;
}

std::string Shown(const Evidence& evidence, bool details) {
  return WriteSheets({ProductionSheet(evidence)}, {false, 200, details});
}

TEST(ProductionSheet, SaysWhatThePicturesAreAndWhereTheyGo) {
  Evidence evidence = Quarry();
  profiles::Source& source = evidence.profile.sources[0];
  source.arrives_by = profiles::ArrivesBy::kNetwork;
  source.codec = "h264";
  source.bitrate_kbps = 8000;
  source.content = profiles::Content::kClip;
  source.clip = "/srv/clip.mkv";
  profiles::Output& output = evidence.profile.outputs[0];
  output.container = "mkv";
  output.folder = "/srv/takes";
  output.bitrate_kbps = 6000;
  output.encoder = profiles::EncoderChoice::kAny;
  EXPECT_THAT(Shown(evidence, false),
              AllOf(HasSubstr("network, h264 at 8,000 kb/s"), HasSubstr("clip /srv/clip.mkv"),
                    HasSubstr("mkv to /srv/takes"), HasSubstr("6,000 kb/s"),
                    HasSubstr("any encoder"), HasSubstr("programme")));
}

TEST(ProductionSheet, LeavesMarginsToTheLongForm) {
  EXPECT_THAT(Shown(Quarry(), false), Not(HasSubstr("Margins")));
  EXPECT_THAT(Shown(Quarry(), true),
              AllOf(HasSubstr("CPU 25 %, encoder 25 %, disk 40 %, USB 15 %"),
                    HasSubstr("2 channels, 48,000 Hz, 160 kb/s"), HasSubstr("1 an hour")));
}

TEST(ProductionSheet, WhatIsNotAskedForIsNone) {
  Evidence evidence = Quarry();
  evidence.profile.audio.reset();
  evidence.profile.multiview.reset();
  const auto show = ProductionSheet(evidence).parts[0];
  for (const show::Fact& fact : std::get<show::Facts>(show.blocks[0]).all()) {
    if (fact.name == "Audio" || fact.name == "Multiview") {
      EXPECT_EQ(fact.text, "none") << fact.name;
    }
  }
}

TEST(InputText, HasTheWordOfTheProgramme) {
  EXPECT_EQ(InputText("program"), "programme");
  EXPECT_EQ(InputText("Lectern"), "Lectern");
}

}  // namespace
}  // namespace report
