// SPDX-License-Identifier: Apache-2.0
//
// Manual pages and completions hold all of the option table, and text in them stays text.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "cli/man/completion.h"
#include "cli/man/man_page.h"
#include "cli/options/option_table.h"

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
  EXPECT_THAT(page, HasSubstr("never run one during a live event"));
}

TEST(ManPage, HasEveryOptionWithItsHelpAndTheExample) {
  for (const CommandRow& row : CommandTable()) {
    const std::string page = ManPage(row, "1.2");
    for (const OptionRow& option : row.options) {
      EXPECT_THAT(page, HasSubstr(TroffText(option.name))) << row.name;
      EXPECT_THAT(page, HasSubstr(TroffText(option.help))) << row.name;
    }
    EXPECT_THAT(page, HasSubstr(TroffText(row.example)));
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
