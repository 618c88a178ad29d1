// SPDX-License-Identifier: Apache-2.0

#include <limits>
#include <random>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "report/assess/assess.h"
#include "report/data/writers.h"
#include "tests/support/random_evidence.h"
#include "tests/support/sample_verdict.h"

namespace report {
namespace {

using nlohmann::json;
using testing::HasSubstr;
using testing::Not;

Document Holding(Evidence evidence) {
  Document document;
  document.evidence = std::move(evidence);
  return document;
}

json Sample() {
  return json::parse(WriteJson(tests::ShortDocument()));
}

/// The error of reading `text`, as the command line shows it.
std::string Refusal(const std::string& text) {
  const auto evidence = ReadStoredEvidence(text, "result.json");
  return evidence ? "read without error" : evidence.error().where + ": " + evidence.error().detail;
}

std::string Refusal(const json& root) {
  return Refusal(root.dump());
}

TEST(ReadStoredEvidence, GivesBackWhatWasWritten) {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    const std::string text = WriteJson(Holding(stored::RandomEvidence(seed)));
    const auto evidence = ReadStoredEvidence(text, "result.json");
    ASSERT_TRUE(evidence) << evidence.error().where << ": " << evidence.error().detail;
    EXPECT_EQ(WriteJson(Holding(*evidence)), text) << "seed " << seed;
  }
}

TEST(ReadStoredEvidence, KeepsValuesAndReasons) {
  Document document = tests::ShortDocument();
  document.evidence.inventory.cpu.cores = 6;
  document.evidence.inventory.cpu.governor = base::Reading<std::string>::Unknown("denied");
  document.evidence.results.disks.emplace_back().bytes = std::numeric_limits<std::int64_t>::max();
  const auto evidence = ReadStoredEvidence(WriteJson(document), "result.json");
  ASSERT_TRUE(evidence);
  EXPECT_EQ(evidence->inventory.cpu.cores, base::Reading<int>(6));
  EXPECT_EQ(evidence->inventory.cpu.governor.why_unknown(), "denied");
  EXPECT_EQ(evidence->results.disks.at(0).bytes, std::numeric_limits<std::int64_t>::max());
  ASSERT_TRUE(evidence->results.rehearsal);
  EXPECT_EQ(evidence->results.rehearsal->outputs.at(0).dropped, 12);
  EXPECT_EQ(evidence->profile.sources.at(1).name, "Room");
  EXPECT_EQ(evidence->profile.outputs.at(0).bitrate_kbps, 6000);
  EXPECT_FALSE(evidence->telemetry);
}

TEST(ReadStoredEvidence, ShowsOfAnAddressSchemeAndHostWhateverWasStored) {
  json root = Sample();
  bool stored = false;
  for (json& output : root["profile"]["outputs"]) {
    if (output["kind"] == "stream") {
      output["url"] = "rtmp://192.0.2.1/an-invented-key";
      stored = true;
    }
  }
  ASSERT_TRUE(stored);
  const auto evidence = ReadStoredEvidence(root.dump(), "result.json");
  ASSERT_TRUE(evidence) << evidence.error().detail;
  EXPECT_THAT(WriteJson(Holding(*evidence)), Not(HasSubstr("an-invented-key")));
}

TEST(ReadStoredEvidence, PassesOverKeysItDoesNotKnow) {
  json root = Sample();
  root["weather"] = "fair";
  root["machine"]["cpu"]["stepping"] = json::array({1, 2});
  EXPECT_EQ(Refusal(root), "read without error");
}

TEST(ReadStoredEvidence, NamesAMissingKey) {
  json root = Sample();
  root["rehearsal"]["outputs"][1].erase("late");
  EXPECT_EQ(Refusal(root), "result.json: /rehearsal/outputs/1/late: the key is missing");
  root = Sample();
  root.erase("machine");
  EXPECT_EQ(Refusal(root), "result.json: /machine: the key is missing");
}

TEST(ReadStoredEvidence, WhatFilesOfBeforeDoNotHoldIsUnknown) {
  json root = Sample();
  for (const char* part : {"board", "disks", "sound"}) {
    ASSERT_TRUE(root["machine"].contains(part));
    root["machine"].erase(part);
  }
  root["machine"]["cpu"].erase("performance_limit");
  const auto evidence = ReadStoredEvidence(root.dump(), "result.json");
  ASSERT_TRUE(evidence) << evidence.error().where << ": " << evidence.error().detail;
  EXPECT_FALSE(evidence->inventory.board.model.known());
  EXPECT_FALSE(evidence->inventory.disks.present.known());
  EXPECT_FALSE(evidence->inventory.sound.present.known());
  EXPECT_EQ(evidence->inventory.cpu.performance_limit.why_unknown(), "not in this file");
}

TEST(ReadStoredEvidence, NamesAValueOfTheWrongType) {
  json root = Sample();
  root["rehearsal"]["seconds"] = "sixty";
  EXPECT_EQ(Refusal(root), "result.json: /rehearsal/seconds: found \"sixty\", allowed: a number");
  root = Sample();
  root["machine"]["usb"] = json::array();
  EXPECT_EQ(Refusal(root), "result.json: /machine/usb: found a list, allowed: an object");
  root = Sample();
  root["machine"]["live"] = 1;
  EXPECT_EQ(Refusal(root), "result.json: /machine/live: found 1, allowed: true or false");
  root = Sample();
  root["rehearsal"]["plan"] = "fast";
  EXPECT_EQ(Refusal(root), "result.json: /rehearsal/plan: found \"fast\", allowed: a list");
}

TEST(ReadStoredEvidence, TakesOnlyWholeNumbersThatFit) {
  for (const char* value : {"-2", "1.5", "1e300", "9223372036854775808", "true", "null"}) {
    json root = Sample();
    root["rehearsal"]["outputs"][0]["due"] = json::parse(value);
    EXPECT_THAT(Refusal(root), HasSubstr("result.json: /rehearsal/outputs/0/due: found"));
  }
  json root = Sample();
  root["rehearsal"]["outputs"][0]["encoder_threads"] = 2147483648;
  EXPECT_THAT(Refusal(root), HasSubstr("allowed: a whole number from -1 to 2147483647"));
}

// A speed that is no number made a conversion undefined; a run of years a list of so many seconds.
TEST(ReadStoredEvidence, TakesOnlyNumbersThatCanBe) {
  for (const char* value : {"null", "1e16", "-1e300", "1e308"}) {
    json root = Sample();
    root["rehearsal"]["seconds"] = json::parse(value);
    EXPECT_THAT(Refusal(root), HasSubstr("result.json: /rehearsal/seconds: found")) << value;
  }
  json root = Sample();
  root["rehearsal"]["seconds"] = 1e15;
  const auto evidence = ReadStoredEvidence(root.dump(), "result.json");
  ASSERT_TRUE(evidence) << evidence.error().detail;
  EXPECT_FALSE(WriteTerminal(Assess(*evidence), {.details = true}).empty());
}

TEST(ReadStoredEvidence, TakesOnlyCountsWhoseSumsCanBe) {
  Document document = tests::ShortDocument();
  bench::Rehearsal& rehearsal = document.evidence.results.rehearsal.value();
  rehearsal.feeds.emplace_back().name = document.evidence.profile.sources.at(0).name;
  rehearsal.outputs.push_back(rehearsal.outputs.at(0));
  const json sample = json::parse(WriteJson(document));
  json most = sample;
  for (const char* count :
       {"/rehearsal/outputs/0/due", "/rehearsal/outputs/1/due", "/rehearsal/outputs/0/late",
        "/rehearsal/outputs/0/dropped", "/rehearsal/outputs/1/dropped", "/rehearsal/feeds/0/due"}) {
    json root = sample;
    root.at(json::json_pointer(count)) = std::numeric_limits<std::int64_t>::max();
    EXPECT_THAT(Refusal(root), HasSubstr(count)) << count;
    most.at(json::json_pointer(count)) = stored::kMostAddedUp;
  }
  const auto evidence = ReadStoredEvidence(most.dump(), "result.json");
  ASSERT_TRUE(evidence) << evidence.error().detail;
  EXPECT_FALSE(WriteTerminal(Assess(*evidence), {.details = true}).empty());
}

TEST(ReadStoredEvidence, RefusesAWordThatIsNone) {
  Document document = tests::ShortDocument();
  document.evidence.inventory.usb.devices.emplace_back().path = "2-1";
  json root = json::parse(WriteJson(document));
  root["machine"]["usb"]["devices"][0]["role"] = "toaster\n";
  EXPECT_EQ(Refusal(root),
            "result.json: /machine/usb/devices/0/role: found \"toaster\\x0A\", allowed: one of "
            "hub, capture, audio, storage, network, input, other");
}

TEST(ReadStoredEvidence, RefusesAnotherFormatOrVersion) {
  json root = Sample();
  root["format"] = "rigproof-profile";
  EXPECT_EQ(Refusal(root),
            "result.json: /format: found \"rigproof-profile\", allowed: \"rigproof-result\"");
  root = Sample();
  root["version"] = 2;
  EXPECT_EQ(Refusal(root), "result.json: /version: found 2, allowed: 1");
  EXPECT_THAT(Refusal(std::string("[]")), HasSubstr("result.json: /: found a list"));
  EXPECT_EQ(Refusal(std::string("{}")), "result.json: /format: the key is missing");
}

TEST(ReadStoredEvidence, SaysWhereTextIsNotJson) {
  EXPECT_EQ(Refusal(std::string("{\n  \"format\": rig}")),
            "result.json: line 2, column 13: this is not JSON");
  EXPECT_THAT(Refusal(std::string()), HasSubstr("line 1, column"));
  EXPECT_THAT(Refusal(std::string("{\"a\": \"\xff\"}")), HasSubstr("this is not JSON"));
  EXPECT_THAT(Refusal(std::string("{\"a\": 1e999}")), HasSubstr("number beyond"));
}

TEST(ReadStoredEvidence, RefusesDeepNesting) {
  EXPECT_EQ(Refusal(std::string(1'000'000, '[')), "result.json: is nested more than 32 deep");
  const std::string brackets_in_text = "{\"a\": \"\\\"" + std::string(100, '[') + "\"}";
  EXPECT_EQ(Refusal(brackets_in_text), "result.json: /format: the key is missing");
}

TEST(ReadStoredEvidence, PointsBelowTheProfileForItsErrors) {
  json root = Sample();
  root["profile"]["sources"][0]["raster"] = "huge";
  EXPECT_THAT(Refusal(root), HasSubstr("result.json: /profile/sources/0/raster: "));
  root["profile"] = 7;
  EXPECT_THAT(Refusal(root), HasSubstr("result.json: /profile"));
  root.erase("profile");
  EXPECT_EQ(Refusal(root), "result.json: /profile: the key is missing");
}

/// One change of a kind that happens to files: a bit, a byte, a piece gone or repeated.
void Mutate(std::mt19937& random, std::string& text) {
  const std::size_t at = random() % text.size();
  const std::size_t length = std::min<std::size_t>(random() % 20, text.size() - at);
  switch (random() % 5) {
    case 0:
      text[at] = static_cast<char>(static_cast<unsigned char>(text[at]) ^ (1U << (random() % 8)));
      break;
    case 1:
      text[at] = "{}[]\",:-0123456789eE.ntf\\\x00\xff"[random() % 26];
      break;
    case 2:
      text.erase(at, length);
      break;
    case 3:
      text.insert(at, text.substr(random() % text.size(), length));
      break;
    default:
      text.resize(std::max<std::size_t>(at, 1));
  }
}

TEST(ReadStoredEvidence, SurvivesDamagedText) {
  const std::string whole = WriteJson(tests::ShortDocument());
  std::mt19937 random(20260304);
  int read = 0;
  for (int i = 0; i < 2000; ++i) {
    std::string text = whole;
    for (auto changes = 1 + random() % 3; changes > 0; --changes) {
      Mutate(random, text);
    }
    const std::string refusal = Refusal(text);
    read += refusal == "read without error" ? 1 : 0;
    ASSERT_THAT(refusal, Not(HasSubstr("\n")));
  }
  EXPECT_GT(read, 0);
  EXPECT_LT(read, 2000);
}

/// Every value of a result in turn becomes one of another type, the next in the list each time.
void ReplaceEach(json& root, json& at, int& tried) {
  static const json kOthers = json::parse(R"([null, true, -1, 1.5, 1e300, "x", [], {}])");
  for (auto it = at.begin(); it != at.end(); ++it) {
    const json kept = *it;
    *it = kOthers[static_cast<std::size_t>(tried) % kOthers.size()];
    ++tried;
    ASSERT_THAT(Refusal(root), Not(HasSubstr("\n")));
    *it = kept;
    if (it->is_structured()) {
      ReplaceEach(root, *it, tried);
    }
  }
}

TEST(ReadStoredEvidence, SurvivesEveryValueOfEveryOtherType) {
  Document document;
  document.evidence = stored::RandomEvidence(3);
  json root = json::parse(WriteJson(document));
  int tried = 0;
  ReplaceEach(root, root, tried);
  EXPECT_GT(tried, 200);
}

}  // namespace
}  // namespace report
