// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <limits>
#include <sstream>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/data/writers.h"
#include "report/show/terminal/text.h"
#include "report/words/quantities.h"
#include "tests/support/golden.h"
#include "tests/support/sample_verdict.h"

namespace report {
namespace {

using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

int WidestLine(const std::string& text) {
  std::istringstream lines(text);
  int widest = 0;
  for (std::string line; std::getline(lines, line);) {
    widest = std::max(widest, DisplayWidth(line));
  }
  return widest;
}

/// What is left when colour codes are taken out.
std::string WithoutColour(const std::string& text) {
  std::string plain;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\x1b') {
      i = text.find('m', i);
    } else {
      plain += text[i];
    }
  }
  return plain;
}

TEST(WriteTerminal, ShowsAShortVerdict) {
  tests::ExpectGolden("verdict_short_80.txt",
                      WriteTerminal(tests::ShortDocument(), {false, 80, true}));
}

TEST(WriteTerminal, ShowsAShortVerdictOnANarrowTerminal) {
  tests::ExpectGolden("verdict_short_40.txt",
                      WriteTerminal(tests::ShortDocument(), {false, 40, true}));
}

TEST(WriteTerminal, ShowsAShortVerdictOnAWideTerminal) {
  tests::ExpectGolden("verdict_short_120.txt",
                      WriteTerminal(tests::ShortDocument(), {false, 120, true}));
}

TEST(WriteTerminal, ShowsAReadyVerdictInColour) {
  tests::ExpectGolden("verdict_ready_colour_80.txt",
                      WriteTerminal(tests::ReadyDocument(), {true, 80, true}));
}

TEST(WriteTerminal, EndsInAboutTenLinesUnlessDetailsAreAskedFor) {
  const std::string text = WriteTerminal(tests::ShortDocument(), {false, 80});
  tests::ExpectGolden("verdict_short_ending_80.txt", text);
  EXPECT_LE(std::count(text.begin(), text.end(), '\n'), 12);
  EXPECT_THAT(text, HasSubstr("--details"));
}

TEST(WriteTerminal, AnswersInTheFirstLines) {
  const std::string text = WriteTerminal(tests::ShortDocument(), {false, 200});
  EXPECT_THAT(text, StartsWith("SHORT"));
  const std::string opening = text.substr(0, text.find("tested "));
  EXPECT_THAT(opening, HasSubstr("writes too slowly"));
  EXPECT_THAT(opening, HasSubstr("disk 3.9 %"));
  EXPECT_THAT(opening, HasSubstr("Record to a disk inside the PC"));
}

TEST(WriteTerminal, SaysTheSameWithAndWithoutColour) {
  for (const Document& document : {tests::ShortDocument(), tests::ReadyDocument()}) {
    for (const int columns : {40, 80, 120}) {
      EXPECT_EQ(WithoutColour(WriteTerminal(document, {true, columns, true})),
                WriteTerminal(document, {false, columns, true}));
    }
  }
}

TEST(WriteTerminal, StaysWithinItsColumns) {
  Document document = tests::ShortDocument();
  document.headroom[1].item = "/srv/" + std::string(300, 'x');
  document.evidence.results.rehearsal->outputs[0].name = std::string(200, 'n');
  document.findings[0].evidence[0] = std::string(500, 'e');
  for (const int columns : {24, 40, 60, 80, 120}) {
    EXPECT_LE(WidestLine(WriteTerminal(document, {false, columns, true})), columns);
  }
}

TEST(WriteTerminal, KeepsTheHeadroomTableAlignedAtEightyColumns) {
  Document document = tests::ShortDocument();
  Headroom& usb = document.headroom[0];
  usb.resource = Resource::kUsb;
  usb.item = "USB hub Invented Hub of the long name (1-1.4)";
  Headroom& encoder = document.headroom[1];
  encoder.resource = Resource::kEncoder;
  encoder.item = "whole pipeline";
  encoder.unit = "x real time";
  encoder.demand = 1;
  encoder.capacity = 6.31;
  const std::string text = WriteTerminal(document, {false, 80, true});
  EXPECT_THAT(text, HasSubstr("\n    USB hub Invented Hub of the long name (1-1.4)\n"));
  EXPECT_THAT(text, HasSubstr("1 x     6.31 x"));
  EXPECT_THAT(text, HasSubstr("x: times real time"));
  EXPECT_THAT(text, Not(HasSubstr(", Margin ")));  // of a stacked entry
}

TEST(WriteTerminal, SaysOnceHowToProveWhatIsUnproven) {
  Document document = tests::ShortDocument();
  document.headroom[3].how_to_prove = "run the line check";
  document.reasons.push_back("USB: not known. To prove it: run the line check.");
  const std::string text = WriteTerminal(document, {false, 200});
  EXPECT_EQ(text.find("run the line check"), text.rfind("run the line check"));
}

TEST(FormatQuantity, CountsOneThingInTheSingular) {
  EXPECT_EQ(FormatQuantity(1, "sessions"), "1 session");
  EXPECT_EQ(FormatQuantity(2, "sessions"), "2 sessions");
  EXPECT_EQ(FormatQuantity(0.5, "CPUs"), "0.500 CPUs");
  EXPECT_EQ(FormatQuantity(1, "x"), "1 x");
}

TEST(FormatPercent, SaysWhenItEndsBeforeTheFigureDoes) {
  EXPECT_EQ(FormatPercent(-998), "-998 %");
  EXPECT_EQ(FormatPercent(-999), "< -999 %");
  EXPECT_EQ(FormatPercent(5000), "> 999 %");
}

TEST(WriteTerminal, ShowsHostileNamesAsText) {
  Document document = tests::ShortDocument();
  document.evidence.profile.name = "\x1b]0;owned\x07";
  document.findings[0].title = "a\nb\x1b[2J";
  document.evidence.results.rehearsal->outputs[0].name = "\xff\xfe\r";
  document.first_limit =
      "\xe2\x80\xae"
      "desrever";
  const std::string text = WriteTerminal(document, {false, 80, true});
  EXPECT_THAT(text, Not(HasSubstr("\x1b")));
  EXPECT_THAT(text, Not(HasSubstr("\r")));
  EXPECT_THAT(text, Not(HasSubstr("\xff")));
  EXPECT_THAT(text, Not(HasSubstr("\xe2\x80\xae")));
}

TEST(WriteTerminal, SurvivesFiguresThatAreNone) {
  Document document = tests::ShortDocument();
  const double none = std::numeric_limits<double>::quiet_NaN();
  const double endless = std::numeric_limits<double>::infinity();
  document.headroom[0].headroom_percent = none;
  document.headroom[1].headroom_percent = -endless;
  document.headroom[1].margin_percent = endless;
  document.headroom[2].demand = endless;
  document.headroom[2].margin_percent = -1e300;
  document.evidence.results.rehearsal->drops_per_hour_upper_95 = none;
  EXPECT_THAT(WriteTerminal(document, {false, 80, true}), HasSubstr("not a number"));
}

TEST(WriteTerminal, SaysWhatIsUnprovenAndHowToProveIt) {
  Document document;
  document.first_limit = "Cpu was not measured.";
  document.headroom.resize(1);
  document.headroom[0].resource = Resource::kCpu;
  document.headroom[0].how_to_prove = "run the rehearsal";
  document.evidence.length = "survey";
  const std::string text = WriteTerminal(document, {false, 80, true});
  EXPECT_THAT(text, StartsWith("UNPROVEN   Cpu was not measured."));
  EXPECT_THAT(text,
              HasSubstr("fix first  nothing found; cpu is not proven yet: run the rehearsal"));
  EXPECT_THAT(text, HasSubstr("INCOMPLETE Nothing was rehearsed"));
  EXPECT_THAT(text, HasSubstr("not known"));
}

}  // namespace
}  // namespace report
