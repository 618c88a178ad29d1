// SPDX-License-Identifier: Apache-2.0
//
// Writes the report page of an invented Document to standard output, for checks in a browser; or
// what the program's own evaluator says of its what-if model, to hold the page's against.

#include <cstdio>
#include <cstdlib>
#include <functional>
#include <map>
#include <random>
#include <string>

#include <nlohmann/json.hpp>

#include "report/assess/assess.h"
#include "report/data/writers.h"
#include "report/fields/sizing.h"
#include "report/what_if/what_if.h"
#include "report/words/quantities.h"
#include "tests/support/hostile_document.h"
#include "tests/support/sample_document.h"
#include "tests/support/two_cameras.h"

namespace {

using report::Document;
using report::Evidence;
using Json = nlohmann::ordered_json;

/// Other names for all that has one, the same for the same, so that the sums stay what they were.
Evidence Renamed(Evidence evidence, report::TextMaker make) {
  std::map<std::string, std::string> names;
  const auto rename = [&](std::string& name) {
    if (!name.empty() && name != "program" && name != "multiview") {
      name = names.try_emplace(name, make(static_cast<int>(names.size()))).first->second;
    }
  };
  rename(evidence.profile.name);
  for (auto& source : evidence.profile.sources) {
    rename(source.name);
  }
  std::string shared;
  for (auto& output : evidence.profile.outputs) {
    rename(output.name);
    rename(output.takes);
    shared += output.kind == profiles::OutputKind::kIso
                  ? ""
                  : (shared.empty() ? "" : " + ") + output.name;
  }
  for (auto& stage : evidence.results.rehearsal->stages) {
    if (stage.item.find(" + ") != std::string::npos) {
      stage.item = shared;
    } else {
      rename(stage.item);
    }
  }
  for (auto& storage : evidence.inventory.storage) {
    rename(storage.folder);
  }
  for (auto& disk : evidence.results.disks) {
    rename(disk.folder);
  }
  for (auto& device : evidence.inventory.usb.devices) {
    rename(device.product);
  }
  for (auto& link : evidence.inventory.network.links) {
    rename(link.name);
  }
  return evidence;
}

Json RowJson(const report::SizedResource& row) {
  const auto told = [](const std::optional<double>& value) {
    return value ? Json(*value) : Json(nullptr);
  };
  return {{"key", RowName(row.resource, "") + "|" + row.item},
          {"asked", row.asked},
          {"left", told(row.headroom_percent)},
          {"lowest", told(row.lowest_percent)},
          {"highest", told(row.highest_percent)},
          {"asked_text", report::FormatNeeded(row.asked, row.unit)},
          {"left_text", row.headroom_percent ? report::FormatHeadroomPercent(*row.headroom_percent,
                                                                             row.margin_percent)
                                             : std::string()}};
}

/// Inputs somewhere in their range, and what comes of them.
Json Answers(const Evidence& evidence) {
  const auto model = report::MakeWhatIf(evidence);
  std::mt19937 random(7);
  Json answers = Json::array();
  constexpr int kTrials = 40;
  for (int trial = 0; model && trial < kTrials; ++trial) {
    std::vector<double> values = report::InputsNow(*model);
    for (unsigned change = random() % 4; change > 0; --change) {
      const std::size_t at = random() % values.size();
      const report::WhatIfInput& input = model->inputs[at];
      const auto choices = static_cast<unsigned>(input.most - input.least) + 1;
      values[at] = input.least + static_cast<double>(random() % choices);
    }
    const report::SizedProduction sized = report::EvaluateWhatIf(*model, values);
    Json rows = Json::array();
    for (const auto& row : sized.resources) {
      rows.push_back(RowJson(row));
    }
    answers.push_back({{"inputs", values},
                       {"rows", rows},
                       {"unproven", sized.unproven.size()},
                       {"verdict", std::string(report::stored::WordOf(sized.verdict))},
                       {"sure", std::string(report::stored::WordOf(sized.sureness))}});
  }
  return answers;
}

Document Filled(int seconds, report::TextMaker make) {
  Document document = report::SampleDocument(seconds);
  report::FillStrings(document, make);
  return document;
}

using Making = std::function<std::string(int)>;

const std::map<std::string, Making>& Kinds() {
  using report::HarmlessText;
  using report::HostileText;
  using report::testing::TwoCameras;
  static const std::map<std::string, Making> kinds{
      {"plain", [](int seconds) { return WriteHtml(report::SampleDocument(seconds)); }},
      {"hostile", [](int seconds) { return WriteHtml(Filled(seconds, HostileText)); }},
      {"harmless", [](int seconds) { return WriteHtml(Filled(seconds, HarmlessText)); }},
      {"two-cameras", [](int) { return WriteHtml(report::Assess(TwoCameras())); }},
      {"two-hostile",
       [](int) { return WriteHtml(report::Assess(Renamed(TwoCameras(), HostileText))); }},
      {"two-harmless",
       [](int) { return WriteHtml(report::Assess(Renamed(TwoCameras(), HarmlessText))); }},
      {"plain-answers",
       [](int seconds) { return Answers(report::SampleDocument(seconds).evidence).dump(); }},
      {"two-cameras-answers", [](int) { return Answers(TwoCameras()).dump(); }},
  };
  return kinds;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string kind = argc > 1 ? argv[1] : "plain";
  const int seconds = argc > 2 ? std::atoi(argv[2]) : 60;
  const auto found = Kinds().find(kind);
  if (found == Kinds().end()) {
    std::fputs("usage: render_sample_page [KIND] [SECONDS]; KIND:", stderr);
    for (const auto& one : Kinds()) {
      std::fprintf(stderr, " %s", one.first.c_str());
    }
    std::fputs("\n", stderr);
    return 2;
  }
  const std::string page = found->second(seconds);
  return std::fwrite(page.data(), 1, page.size(), stdout) == page.size() ? 0 : 1;
}
