// SPDX-License-Identifier: Apache-2.0

#include "report/compare/differences.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace report {
namespace {

using Json = nlohmann::ordered_json;
using testing::AllOf;
using testing::ElementsAre;
using testing::Field;
using testing::IsEmpty;

auto Fact(const char* area, const char* what, const char* before, const char* after) {
  return AllOf(Field(&ChangedFact::area, area), Field(&ChangedFact::what, what),
               Field(&ChangedFact::before, before), Field(&ChangedFact::after, after));
}

std::vector<ChangedFact> Between(const char* before, const char* after,
                                 const DifferenceRules& rules = {}) {
  return Differences(Json::parse(before), Json::parse(after), rules);
}

TEST(Differences, AreNoneBetweenEquals) {
  const char* const text = R"({"cpu": {"model": "a", "kinds": [{"name": "core"}]}, "x": null})";
  EXPECT_THAT(Between(text, text), IsEmpty());
  EXPECT_THAT(Between("3", "{}"), IsEmpty());
}

TEST(Differences, NamesThePlaceInWords) {
  EXPECT_THAT(Between(R"({"settings": {"power_profile": "a", "on_mains": true}})",
                      R"({"settings": {"power_profile": "b", "on_mains": false}})"),
              ElementsAre(Fact("settings", "power profile", "a", "b"),
                          Fact("settings", "on mains", "yes", "no")));
}

TEST(Differences, FindsEntriesOfListsByName) {
  EXPECT_THAT(
      Between(R"({"usb": {"devices": [{"path": "2-1", "speed_mbps": 480}, {"path": "2-2"}]}})",
              R"({"usb": {"devices": [{"path": "3-1", "product": "P"},
                                      {"path": "2-1", "speed_mbps": 5000}]}})"),
      ElementsAre(Fact("usb", "devices 2-1: speed mbps", "480", "5000"),
                  Fact("usb", "devices 2-2", "there", "not there"),
                  Fact("usb", "devices 3-1", "not there", "there (P)")));
}

TEST(Differences, TellsTwoOfOneNameApart) {
  EXPECT_THAT(Between(R"({"a": [{"name": "n", "v": 1}, {"name": "n", "v": 2}]})",
                      R"({"a": [{"name": "n", "v": 1}, {"name": "n", "v": 3}]})"),
              ElementsAre(Fact("a", "n #2: v", "2", "3")));
}

TEST(Differences, ReadsUnknownsAndLists) {
  EXPECT_THAT(Between(R"({"a": {"b": {"unknown": "denied"}, "c": ["x", "y"]}})",
                      R"({"a": {"b": 4, "c": ["x"]}})"),
              ElementsAre(Fact("a", "b", "unknown: denied", "4"), Fact("a", "c", "x, y", "x")));
}

TEST(Differences, PassesOverWhatChangesByItself) {
  EXPECT_THAT(Between(R"({"free_bytes": 1, "modes": [1, 2]})", R"({"free_bytes": 2, "modes": [1]})",
                      {{"free_bytes"}, {"modes"}}),
              ElementsAre(Fact("modes", "", "one way", "another way")));
}

TEST(Differences, AreBounded) {
  Json before = Json::object();
  Json after = Json::object();
  for (int i = 0; i < 1000; ++i) {
    before["k" + std::to_string(i)] = i;
    after["k" + std::to_string(i)] = i + 1;
  }
  const auto changes = Differences(before, after, {});
  ASSERT_EQ(changes.size(), kMostDifferences + 1);
  EXPECT_EQ(changes.back().what, "more than these");
}

TEST(Differences, MakeHostileTextVisible) {
  const auto changes =
      Differences(Json{{"a", {{"b\x1b", "\x1b[2J"}}}}, Json{{"a", {{"b\x1b", "fine"}}}}, {});
  ASSERT_EQ(changes.size(), 1U);
  EXPECT_EQ(changes[0].what.find('\x1b'), std::string::npos);
  EXPECT_EQ(changes[0].before.find('\x1b'), std::string::npos);
}

}  // namespace
}  // namespace report
