// SPDX-License-Identifier: Apache-2.0
//
// The command line as users write it, and as they mistype it.

#include "cli/options/options.h"

#include <algorithm>
#include <sstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "cli/options/option_table.h"
#include "cli/options/version.h"
#include "report/show/terminal/text.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

using testing::HasSubstr;
using testing::Not;

std::string ErrorOf(const std::vector<std::string>& arguments) {
  auto invocation = ParseArguments(arguments);
  EXPECT_FALSE(invocation.has_value());
  return invocation ? "" : invocation.error().where + ": " + invocation.error().detail;
}

TEST(ParseArguments, TakesEveryOptionOfQualify) {
  auto invocation = ParseArguments({"qualify", "show.json", "--length", "standard", "--into=out",
                                    "--record-to", "/media/disk", "--json", "--quiet"});
  ASSERT_TRUE(invocation.has_value()) << invocation.error().detail;
  const Options& options = invocation->options;
  EXPECT_EQ(options.command, Command::kQualify);
  EXPECT_EQ(options.profile, "show.json");
  EXPECT_EQ(options.length, Length::kStandard);
  EXPECT_EQ(options.into, "out");
  EXPECT_EQ(options.record_folder, "/media/disk");
  EXPECT_TRUE(options.json);
  EXPECT_TRUE(options.quiet);
  EXPECT_TRUE(invocation->text.empty());
}

TEST(ParseArguments, TakesOpenWithAndWithoutAFolder) {
  auto bare = ParseArguments({"open"});
  ASSERT_TRUE(bare.has_value());
  EXPECT_EQ(bare->options.command, Command::kOpen);
  EXPECT_EQ(bare->options.port, 0);
  auto full = ParseArguments({"open", "shows", "--port", "8123"});
  ASSERT_TRUE(full.has_value());
  EXPECT_EQ(full->options.into, "shows");
  EXPECT_EQ(full->options.port, 8123);
  for (const char* port : {"0", "65536", "-1", "x", "80 80"}) {
    EXPECT_THAT(ErrorOf({"open", std::string("--port=") + port}), HasSubstr("1 to 65535"));
  }
}

TEST(ParseArguments, QualifyNeedsNoProfile) {
  auto invocation = ParseArguments({"qualify"});
  ASSERT_TRUE(invocation.has_value());
  EXPECT_TRUE(invocation->options.profile.empty());
  EXPECT_EQ(invocation->options.length, Length::kQuick);
}

TEST(ParseArguments, TakesCommonOptionsBeforeTheCommandToo) {
  auto invocation = ParseArguments({"--json", "inventory"});
  ASSERT_TRUE(invocation.has_value());
  EXPECT_TRUE(invocation->options.json);
  EXPECT_EQ(invocation->options.command, Command::kInventory);
}

TEST(ParseArguments, TakesLineCheckWithAndWithoutAProfile) {
  auto bare = ParseArguments({"line-check"});
  ASSERT_TRUE(bare.has_value());
  EXPECT_EQ(bare->options.command, Command::kLineCheck);
  EXPECT_TRUE(bare->options.profile.empty());
  EXPECT_FALSE(bare->options.even_in_use);
  auto full = ParseArguments({"line-check", "show.json", "--seconds", "60", "--even-in-use"});
  ASSERT_TRUE(full.has_value());
  EXPECT_EQ(full->options.profile, "show.json");
  EXPECT_DOUBLE_EQ(full->options.seconds, 60);
  EXPECT_TRUE(full->options.even_in_use);
  EXPECT_THAT(ErrorOf({"line-check", "--seconds", "3601"}), HasSubstr("3 to 3600"));
}

TEST(ParseArguments, TakesARecordingWithItsLog) {
  auto made = ParseArguments({"explain", "a.mkv", "b.mkv", "--log", "friday-log", "--begins",
                              "-2.5", "--page", "why.html"});
  ASSERT_TRUE(made.has_value()) << made.error().detail;
  EXPECT_EQ(made->options.command, Command::kExplain);
  EXPECT_THAT(made->options.recordings, testing::ElementsAre("a.mkv", "b.mkv"));
  EXPECT_EQ(made->options.log, "friday-log");
  EXPECT_EQ(made->options.page, "why.html");
  ASSERT_TRUE(made->options.begins_s.has_value());
  EXPECT_DOUBLE_EQ(*made->options.begins_s, -2.5);
  EXPECT_FALSE(ParseArguments({"explain", "a.mkv"})->options.begins_s.has_value());
  EXPECT_THAT(ErrorOf({"explain", "a.mkv", "--begins", "nan"}), HasSubstr("a number of seconds"));
}

TEST(ParseArguments, TakesSeveralRecordings) {
  auto one = ParseArguments({"examine", "show.mkv"});
  ASSERT_TRUE(one.has_value());
  EXPECT_EQ(one->options.command, Command::kExamine);
  EXPECT_FALSE(one->options.in_sequence);
  auto more = ParseArguments({"examine", "a.mkv", "--decode", "b.mkv", "--in-sequence", "c.mkv"});
  ASSERT_TRUE(more.has_value()) << more.error().detail;
  EXPECT_THAT(more->options.recordings, testing::ElementsAre("a.mkv", "b.mkv", "c.mkv"));
  EXPECT_TRUE(more->options.in_sequence);
  EXPECT_TRUE(more->options.decode);
  EXPECT_THAT(ErrorOf({"examine"}), HasSubstr("RECORDING"));
  EXPECT_THAT(ErrorOf({"examine", ""}), HasSubstr("not empty"));
}

TEST(ParseArguments, TakesRehearseFlags) {
  auto invocation = ParseArguments(
      {"rehearse", "talk", "--seconds", "12.5", "--keep-recordings", "--send-streams", "--search"});
  ASSERT_TRUE(invocation.has_value());
  EXPECT_TRUE(invocation->options.search);
  EXPECT_DOUBLE_EQ(invocation->options.seconds, 12.5);
  EXPECT_TRUE(invocation->options.keep_recordings);
  EXPECT_TRUE(invocation->options.send_streams);
}

TEST(ParseArguments, NamesTheNearestCommand) {
  EXPECT_THAT(ErrorOf({"inventroy"}), HasSubstr("\"inventroy\" (did you mean inventory?)"));
}

TEST(ParseArguments, ListsTheCommandsWhenNoneIsNear) {
  EXPECT_THAT(ErrorOf({"xylophone"}), HasSubstr("known: inventory, demand, survey"));
  EXPECT_THAT(ErrorOf({"--quiet"}), HasSubstr("a command is missing"));
}

TEST(ParseArguments, NamesTheNearestOptionOfTheCommand) {
  EXPECT_THAT(ErrorOf({"survey", "talk", "--mashine", "x"}), HasSubstr("did you mean --machine?"));
  EXPECT_THAT(ErrorOf({"--vresion"}), HasSubstr("did you mean --version?"));
}

TEST(ParseArguments, RefusesAnOptionOfAnotherCommand) {
  const std::string error = ErrorOf({"demand", "talk", "--into", "x"});
  EXPECT_THAT(error, HasSubstr("unknown option \"--into\" of demand"));
}

TEST(ParseArguments, RefusesASecondProfile) {
  EXPECT_THAT(ErrorOf({"demand", "one", "two"}), HasSubstr("unexpected argument \"two\""));
}

TEST(ParseArguments, RefusesAMissingProfile) {
  EXPECT_THAT(ErrorOf({"demand"}), HasSubstr("PROFILE"));
}

TEST(ParseArguments, SaysWhatLengthsAreAllowed) {
  const std::string error = ErrorOf({"qualify", "--length", "brief"});
  EXPECT_THAT(error, HasSubstr("--length"));
  EXPECT_THAT(error, HasSubstr("found \"brief\", allowed: quick, standard, full"));
}

TEST(ParseArguments, RefusesSecondsThatAreNone) {
  for (const char* bad : {"0", "-5", "2", "nan", "inf", "1e9", "ten", "", "10s"}) {
    EXPECT_THAT(ErrorOf({"rehearse", "talk", "--seconds", bad}), HasSubstr("--seconds")) << bad;
  }
}

TEST(ParseArguments, ShowsHostileArgumentsAsText) {
  const std::string error = ErrorOf({"\x1b[31mred\x07\n"});
  EXPECT_THAT(error, Not(HasSubstr("\x1b")));
  EXPECT_THAT(error, Not(HasSubstr("\n")));
  EXPECT_THAT(error, HasSubstr("\\x1B[31mred\\x07"));
}

TEST(ParseArguments, EveryCommandHasHelpWithItsExample) {
  for (const CommandRow& row : CommandTable()) {
    auto invocation = ParseArguments({std::string(row.name), "--help"});
    ASSERT_TRUE(invocation.has_value()) << row.name;
    EXPECT_THAT(invocation->text, HasSubstr(std::string(row.example)));
    for (const OptionRow& option : row.options) {
      EXPECT_THAT(invocation->text, HasSubstr(std::string(option.name))) << row.name;
    }
  }
}

int WidestLine(const std::string& text) {
  std::istringstream lines(text);
  int widest = 0;
  for (std::string line; std::getline(lines, line);) {
    widest = std::max(widest, report::DisplayWidth(line));
  }
  return widest;
}

/// The example stays one line, to be copied.
std::string WithoutExample(const std::string& help, const CommandRow& row) {
  const std::size_t at = help.find(row.example);
  return at == std::string::npos ? help : help.substr(0, at) + help.substr(at + row.example.size());
}

TEST(ParseArguments, HelpIsWrappedToTheWidthOfTheTerminal) {
  constexpr int kNarrowestOfExamples = 80;
  constexpr int kWidest = 100;
  for (const int columns : {60, kNarrowestOfExamples, kWidest, 240}) {
    const int most = std::min(columns, kWidest);
    const auto all = ParseArguments({"--help"}, columns);
    ASSERT_TRUE(all.has_value());
    EXPECT_LE(WidestLine(all->text), most);
    for (const CommandRow& row : CommandTable()) {
      const auto help = ParseArguments({std::string(row.name), "--help"}, columns);
      ASSERT_TRUE(help.has_value()) << row.name;
      EXPECT_LE(
          WidestLine(columns < kNarrowestOfExamples ? WithoutExample(help->text, row) : help->text),
          most)
          << row.name;
      for (const OptionRow& option : row.options) {
        EXPECT_THAT(help->text, HasSubstr("\n  " + std::string(option.name))) << row.name;
      }
      EXPECT_THAT(help->text, HasSubstr("Exit status:")) << row.name;
    }
  }
}

TEST(ParseArguments, WithoutAnyItSaysWhatToTypeFirst) {
  const auto invocation = ParseArguments({});
  ASSERT_TRUE(invocation.has_value());
  EXPECT_EQ(invocation->status, 2);
  EXPECT_THAT(invocation->text, HasSubstr("Type first:"));
  EXPECT_THAT(invocation->text, HasSubstr("rigproof qualify"));
  EXPECT_THAT(invocation->text, HasSubstr(std::string(report::kCautionLive)));
}

TEST(ParseArguments, EveryExampleIsAccepted) {
  for (const CommandRow& row : CommandTable()) {
    std::vector<std::string> words;
    std::string rest(row.example.substr(0, row.example.find(" >")));
    for (std::size_t at = 0; at != std::string::npos;) {
      const std::size_t space = rest.find(' ', at);
      words.push_back(rest.substr(at, space - at));
      at = space == std::string::npos ? space : space + 1;
    }
    ASSERT_EQ(words.front(), "rigproof");
    words.erase(words.begin());
    auto invocation = ParseArguments(words);
    ASSERT_TRUE(invocation.has_value()) << row.example;
    EXPECT_EQ(invocation->options.command, row.command);
  }
}

TEST(ParseArguments, VersionNamesTheLibraries) {
  auto invocation = ParseArguments({"--version"});
  ASSERT_TRUE(invocation.has_value());
  EXPECT_TRUE(invocation->version);
  EXPECT_THAT(VersionText(), HasSubstr("rigproof 0."));
  EXPECT_THAT(VersionText(), HasSubstr("FFmpeg "));
  EXPECT_THAT(VersionText(), HasSubstr("hwloc API 2."));
}

}  // namespace
}  // namespace cli
