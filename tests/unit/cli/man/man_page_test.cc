// SPDX-License-Identifier: Apache-2.0
//
// Manual pages and completions hold all of the option table, and text in them stays text.

#include "cli/man/man_page.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "cli/man/completion.h"
#include "cli/options/option_table.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

using testing::HasSubstr;

TEST(TroffText, NothingIsARequestOrAnEscape) {
  EXPECT_EQ(TroffText(".so /etc/passwd\n'br"), "\\&.so /etc/passwd\n\\&'br");
  EXPECT_EQ(TroffText("a\\fBb --x \"q\""), "a\\efBb \\-\\-x \\(dqq\\(dq");
  EXPECT_EQ(TroffText(""), "");
}

TEST(ManPage, NamesEveryCommand) {
  const std::string page = ManPage("1.2");
  for (const CommandRow& row : CommandTable()) {
    EXPECT_THAT(page, HasSubstr("\\fB" + TroffText(row.name) + "\\fR"));
  }
  EXPECT_THAT(page, HasSubstr("rigproof 1.2"));
  EXPECT_THAT(page, HasSubstr(TroffText(report::kCautionLive)));
}

TEST(ManPage, HasEveryOptionWithItsHelpAndTheExample) {
  for (const CommandRow& row : CommandTable()) {
    const std::string page = ManPage(row, "1.2");
    for (const OptionRow& option : row.options) {
      EXPECT_THAT(page, HasSubstr(TroffText(option.name))) << row.name;
      EXPECT_THAT(page, HasSubstr(TroffText(option.help))) << row.name;
    }
    EXPECT_THAT(page, HasSubstr(TroffText(row.example)));
    EXPECT_THAT(page, HasSubstr(".SH EXIT STATUS\n" + TroffText(row.statuses)));
  }
}

// What loads the PC or takes its devices says what to mind, in its help and on its page.
TEST(ManPage, HasTheCautionsOfWhatLoadsThePc) {
  for (const CommandRow& row : CommandTable()) {
    const std::string page = ManPage(row, "1.2");
    switch (row.command) {
      case Command::kQualify:
      case Command::kRehearse:
      case Command::kOpen:
        EXPECT_THAT(page, HasSubstr(TroffText(report::kCautionLive))) << row.name;
        [[fallthrough]];
      case Command::kSize:
        EXPECT_THAT(page, HasSubstr("during a live event")) << row.name;
        EXPECT_THAT(page, HasSubstr(TroffText(report::kCautionFlash))) << row.name;
        [[fallthrough]];
      case Command::kLineCheck:
        EXPECT_THAT(page, HasSubstr(TroffText(report::kCautionHeat))) << row.name;
        EXPECT_THAT(page, HasSubstr(TroffText(report::kCautionMains))) << row.name;
        break;
      default:
        break;
    }
  }
}

void ExpectWhole(const std::string& script) {
  for (const CommandRow& row : CommandTable()) {
    EXPECT_THAT(script, HasSubstr(std::string(row.name)));
    for (const OptionRow& option : row.options) {
      if (option.name.starts_with("--")) {
        EXPECT_THAT(script, HasSubstr(std::string(option.name.substr(2)))) << row.name;
      }
    }
  }
}

TEST(Completion, EveryShellKnowsEveryCommandAndOption) {
  ExpectWhole(BashCompletion());
  ExpectWhole(ZshCompletion());
  ExpectWhole(FishCompletion());
}

}  // namespace
}  // namespace cli
