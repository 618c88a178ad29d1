// SPDX-License-Identifier: Apache-2.0

#include "report/stored/write_json.h"

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "report/data/writers.h"
#include "report/fields/from_json.h"
#include "report/fields/report.h"
#include "report/stored/inventory_json.h"
#include "tests/support/sample_verdict.h"

namespace report {
namespace {

using nlohmann::ordered_json;
using testing::ElementsAre;
using testing::IsSupersetOf;

std::vector<std::string> KeysOf(const ordered_json& object) {
  std::vector<std::string> keys;
  for (const auto& [key, value] : object.items()) {
    keys.push_back(key);
  }
  return keys;
}

ordered_json Written(const Document& document) {
  return ordered_json::parse(WriteJson(document));
}

TEST(WriteJson, KeepsTheStableKeysAtTheTop) {
  const ordered_json json = Written(tests::ShortDocument());
  EXPECT_EQ(json["format"], "rigproof-result");
  EXPECT_EQ(json["version"], 1);
  EXPECT_EQ(json["verdict"], "short");
  EXPECT_EQ(json["complete"], true);
  EXPECT_THAT(KeysOf(json),
              IsSupersetOf({"profile", "machine", "demand", "demand_detail", "headroom",
                            "rehearsal", "capacity", "findings", "method"}));
  EXPECT_TRUE(json["capacity"].is_null());
}

TEST(WriteJson, KeepsTheStableKeysOfHeadroom) {
  const ordered_json json = Written(tests::ShortDocument());
  ASSERT_EQ(json["headroom"].size(), 4U);
  const ordered_json& disk = json["headroom"][1];
  EXPECT_THAT(KeysOf(disk),
              ElementsAre("resource", "item", "demand", "capacity", "unit", "headroom_percent",
                          "margin_percent", "basis", "source", "how_to_prove", "about"));
  EXPECT_EQ(disk["resource"], "disk");
  EXPECT_EQ(disk["item"], "/srv/takes");
  EXPECT_EQ(disk["demand"], 775'000.0);
  EXPECT_EQ(disk["capacity"], 807'000.0);
  EXPECT_EQ(disk["basis"], "measured");
  EXPECT_TRUE(json["headroom"][3]["capacity"].is_null());
  EXPECT_TRUE(json["headroom"][3]["headroom_percent"].is_null());
}

TEST(WriteJson, KeepsTheStableKeysOfTheRehearsal) {
  const ordered_json rehearsal = Written(tests::ShortDocument())["rehearsal"];
  EXPECT_EQ(rehearsal["seconds"], 60.0);
  EXPECT_EQ(rehearsal["drops_per_hour_upper_95"], 1250.0);
  const ordered_json& output = rehearsal["outputs"][0];
  EXPECT_EQ(output["name"], "Program recording");
  EXPECT_EQ(output["due"], 1500);
  EXPECT_EQ(output["delivered"], 1488);
  EXPECT_EQ(output["dropped"], 12);
  EXPECT_EQ(output["late"], 6);
  EXPECT_EQ(rehearsal["drops"],
            ordered_json::parse(R"([{"output": "Program recording", "at_s": 31.4, "stage": "write",
                                     "cause": "the disk was at its limit", "frames": 12}])"));
}

TEST(WriteJson, KeepsTheStableKeysOfFindings) {
  const ordered_json finding = Written(tests::ShortDocument())["findings"][1];
  EXPECT_EQ(finding, ordered_json::parse(R"({"id": "power-saving", "severity": "warn",
      "title": "Power saving is on", "evidence": ["governor: powersave"],
      "action": "Choose the performance governor for the day.",
      "about": [], "bears_on": [], "rests_on": [], "lost_frames": 0,
      "taken_by_others": null})"));
}

TEST(WriteJson, TellsWhatAFindingIsAboutAndWhatItTakesFrom) {
  Document document = tests::ShortDocument();
  Finding& finding = document.findings[1];
  finding.about = {{SubjectKind::kUsb, "2-1.4"}, {SubjectKind::kFolder, "/srv/\xff takes"}};
  finding.bears_on = {Resource::kUsb, Resource::kEncodeSessions};
  finding.rests_on = {ReportPart::kOverTime};
  const ordered_json json = Written(document)["findings"][1];
  EXPECT_EQ(json["about"], ordered_json::parse(R"([{"kind": "usb", "name": "2-1.4"},
      {"kind": "folder", "name": "/srv/\ufffd takes"}])"));
  EXPECT_EQ(json["bears_on"], ordered_json::parse(R"(["usb", "encode sessions"])"));
  EXPECT_EQ(json["rests_on"], ordered_json::parse(R"(["over time"])"));
  stored::StoredReader reader("a test");
  Finding read;
  reader.Member(nlohmann::json{{"finding", json}}, "finding", read);
  ASSERT_FALSE(reader.error());
  EXPECT_EQ(read.about.front(), finding.about.front());
  EXPECT_EQ(read.bears_on, finding.bears_on);
}

TEST(WriteJson, PutsDemandIntoRowsOfOneShape) {
  const ordered_json json = Written(tests::ShortDocument());
  for (const ordered_json& row : json["demand"]) {
    EXPECT_THAT(KeysOf(row), ElementsAre("resource", "item", "value", "unit", "basis", "source"));
  }
  const ordered_json& first = json["demand"][0];
  EXPECT_EQ(first["resource"], "capture");
  EXPECT_EQ(first["item"], "Lectern");
  EXPECT_EQ(first["value"], 34'560'000.0);  // 1280 x 720 x 12 bits x 25 / 8
  EXPECT_EQ(first["unit"], "B/s");
  EXPECT_EQ(first["basis"], "computed");
  EXPECT_EQ(json["demand_detail"]["encode_sessions"], 2);
}

TEST(WriteJson, MarksAnAssumedDemand) {
  const ordered_json json = Written(tests::ShortDocument());
  const ordered_json& room = json["demand"][2];
  EXPECT_EQ(room["item"], "Room");
  EXPECT_EQ(room["basis"], "assumed");
}

TEST(WriteJson, WritesNullForNumbersThatAreNotFinite) {
  Document document = tests::ReadyDocument();
  document.headroom[0].demand = std::numeric_limits<double>::quiet_NaN();
  document.headroom[0].capacity = std::numeric_limits<double>::infinity();
  document.evidence.inventory.cpu.usable_cpus = -std::numeric_limits<double>::infinity();
  const std::string text = WriteJson(document);
  const ordered_json json = ordered_json::parse(text);
  EXPECT_TRUE(json["headroom"][0]["demand"].is_null());
  EXPECT_TRUE(json["headroom"][0]["capacity"].is_null());
  EXPECT_EQ(json["machine"]["cpu"]["usable_cpus"]["unknown"], "not a finite number");
}

TEST(WriteJson, ReplacesBytesThatAreNotUtf8) {
  Document document = tests::ReadyDocument();
  document.headline = "bad \xff\xc3 bytes";
  document.evidence.inventory.machine_root = "\x80";
  const ordered_json json = Written(document);
  EXPECT_EQ(json["headline"], "bad \xef\xbf\xbd\xef\xbf\xbd bytes");
}

TEST(WriteJson, TellsWhyAReadingIsUnknown) {
  Document document = tests::ReadyDocument();
  document.evidence.inventory.cpu.governor =
      base::Reading<std::string>::Unknown("no cpufreq folder");
  document.evidence.inventory.cpu.cores = 6;
  const ordered_json cpu = Written(document)["machine"]["cpu"];
  EXPECT_EQ(cpu["governor"], ordered_json::parse(R"({"unknown": "no cpufreq folder"})"));
  EXPECT_EQ(cpu["cores"], 6);
}

TEST(WriteJson, LeavesOutNothingThatWasNotRun) {
  Document document = tests::ReadyDocument();
  document.evidence.results.rehearsal.reset();
  EXPECT_TRUE(Written(document)["rehearsal"].is_null());
}

TEST(WriteJson, KeepsLinesShort) {
  const std::string text = WriteJson(tests::ShortDocument());
  EXPECT_NE(text.find("{\"due\": 25, \"delivered\": 13, \"dropped\": 12, \"late\": 6}"),
            std::string::npos);
  EXPECT_EQ(text.back(), '\n');
}

TEST(InventoryJson, OpensWithItsFormat) {
  probes::Inventory inventory;
  inventory.machine_root = "/";
  const ordered_json json = ordered_json::parse(InventoryJson(inventory));
  EXPECT_EQ(json["format"], "rigproof-inventory");
  EXPECT_EQ(json["version"], 1);
  EXPECT_THAT(KeysOf(json), IsSupersetOf({"live", "machine_root", "cpu", "gpu", "codecs", "usb",
                                          "storage", "network", "settings", "runs"}));
  EXPECT_EQ(json["usb"]["present"]["unknown"], "not read");
}

TEST(DemandJson, HoldsProfileRowsAndDetail) {
  const ordered_json json =
      ordered_json::parse(DemandJson(tests::QuarryProfile(), tests::QuarryDemand()));
  EXPECT_EQ(json["format"], "rigproof-demand");
  EXPECT_EQ(json["version"], 1);
  EXPECT_EQ(json["profile"]["format"], "rigproof-profile");
  EXPECT_EQ(json["profile"]["name"], "Quarry Fair talk");
  EXPECT_EQ(json["demand_detail"]["sources"][0]["sdi_link"], "HD-SDI (ST 292-1)");
}

}  // namespace
}  // namespace report
