// SPDX-License-Identifier: Apache-2.0
//
// The what-if model held against the sizing that it is made from: the same productions, asked of
// both. What it cannot tell it must call unproven.

#include "report/what_if/what_if.h"

#include <algorithm>
#include <cmath>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "profiles/demand/demand.h"
#include "report/assess/assess.h"
#include "report/data/writers.h"
#include "report/predict/size_resources.h"
#include "report/stored/what_if_json.h"
#include "report/what_if/controls.h"
#include "report/what_if/nodes.h"
#include "tests/support/evidence_builder.h"
#include "tests/support/port_builder.h"
#include "tests/support/sample_document.h"
#include "tests/support/two_cameras.h"

namespace report::testing {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

/// Two cameras on ports that can be told, on a PC whose law of contention was measured.
Evidence OnPorts() {
  Evidence evidence = TwoCameras();
  GivePorts(evidence);
  bench::Contention contention;
  contention.points = {{1, 100}, {2, 190}, {3, 270}, {4, 340}};
  contention.memory_bytes_per_second = 8e9;
  evidence.results.contention = contention;
  return evidence;
}

/// A source by network with an iso, and a stream to an address of the user's own.
Evidence ByNetwork() {
  Evidence evidence = OnPorts();
  profiles::Source far = evidence.profile.sources[0];
  far.name = "Far";
  far.arrives_by = profiles::ArrivesBy::kNetwork;
  far.pixel_format.clear();
  far.codec = "h264";
  far.bitrate_kbps = 8000;
  evidence.profile.sources.push_back(far);
  profiles::Output iso = evidence.profile.outputs.back();
  iso.name = "Iso: Far";
  iso.takes = "Far";
  iso.bitrate_kbps = 5000;
  evidence.profile.outputs.push_back(iso);
  evidence.profile.outputs[1].url = "rtmp://192.0.2.1/live/key";
  evidence.results.rehearsal->stages.push_back({bench::Stage::kDecode, "Far", 1800, 2.7});
  evidence.results.rehearsal->stages.push_back({bench::Stage::kEncode, "Iso: Far", 1800, 9});
  evidence.results.rehearsal->stages.push_back({bench::Stage::kSend, "Stream", 1800, 0.4});
  evidence.results.rehearsal->stages.push_back({bench::Stage::kSink, "", 1800, 0.9});
  evidence.demand = profiles::SumDemand(evidence.profile);
  return evidence;
}

/// A multiview, sound, and encoders in hardware of two sessions.
Evidence WithMultiview() {
  Evidence evidence = OnPorts();
  evidence.profile.multiview = profiles::Multiview{{1280, 720}, base::Rational(30)};
  evidence.profile.audio = profiles::Audio{};
  evidence.results.rehearsal->stages.push_back({bench::Stage::kMultiview, "", 1800, 30});
  evidence.results.rehearsal->stages.push_back({bench::Stage::kAudio, "", 2800, 0.5});
  evidence.results.rehearsal->cpu_seconds = 100;
  probes::CodecTrial software;
  software.name = "soft";
  software.codec = "h264";
  software.works = true;
  probes::CodecTrial hardware = software;
  hardware.name = "hard";
  hardware.hardware = true;
  hardware.sessions = 2;
  evidence.inventory.codecs.tried = true;
  evidence.inventory.codecs.trials = {software, hardware};
  bench::HardwareEncode encode;
  encode.encoder = "hard";
  encode.codec = "h264";
  encode.width = 1920;
  encode.height = 1080;
  encode.sessions = 2;
  encode.all_per_second = 130;
  evidence.results.hardware_encodes = {encode};
  evidence.demand = profiles::SumDemand(evidence.profile);
  return evidence;
}

/// The page of the sample: five cameras of three kinds, eight outputs, drops.
Evidence Sample() {
  return SampleDocument(60).evidence;
}

Evidence Survey() {
  Evidence evidence = OnPorts();
  evidence.results = {};
  evidence.length = kSurvey;
  return evidence;
}

Evidence RehearsalOnly() {
  Evidence evidence = ByNetwork();
  evidence.length = kRehearsalOnly;
  return evidence;
}

Evidence FlatOut() {
  Evidence evidence = OnPorts();
  evidence.results.flat_out = {.complete = true,
                               .stopped_because = "",
                               .seconds = 20,
                               .speed = 2.8,
                               .window_speeds = {2.5, 2.6, 2.9, 3.0, 3.1, 2.8, 2.9},
                               .cpu_seconds = 76};
  return evidence;
}

/// With two cameras more, and with five.
Evidence GrownFlatOut() {
  Evidence evidence = FlatOut();
  evidence.results.flat_out->cpu_seconds = 60;
  evidence.results.grown_flat_out = {{"Left", 2, *evidence.results.flat_out},
                                     {"Left", 5, *evidence.results.flat_out}};
  evidence.results.grown_flat_out[0].run.speed = 1.9;
  evidence.results.grown_flat_out[0].run.window_speeds = {1.8, 1.9, 2, 1.9, 2.1};
  evidence.results.grown_flat_out[1].run.speed = 1.1;
  evidence.results.grown_flat_out[1].run.window_speeds = {1.1, 1.2, 1.2, 1.2, 1.3};
  evidence.results.grown_flat_out[1].run.cpu_seconds = 77;
  return evidence;
}

struct Case {
  const char* name;
  Evidence (*make)();
};

void PrintTo(const Case& one, std::ostream* out) {
  *out << one.name;
}

class WhatIfAgainstSizing : public ::testing::TestWithParam<Case> {};

/// Up to four inputs anywhere in their range, the rest as they are.
std::vector<double> SomeInputs(const WhatIfModel& model, std::mt19937& random) {
  std::vector<double> values = InputsNow(model);
  const auto changes = 1 + random() % 4;
  for (std::size_t change = 0; change < changes; ++change) {
    const std::size_t at = random() % values.size();
    const WhatIfInput& input = model.inputs[at];
    const auto choices = static_cast<unsigned>(input.most - input.least) + 1;
    values[at] = input.least + static_cast<double>(random() % choices);
  }
  return values;
}

const SizedResource* Same(const SizedProduction& sized, const SizedResource& row) {
  for (const SizedResource& other : sized.resources) {
    if (other.resource == row.resource && other.item == row.item) {
      return &other;
    }
  }
  return nullptr;
}

const SizedResource* CpuOf(const SizedProduction& sized) {
  SizedResource cpu;
  cpu.resource = Resource::kCpu;
  return Same(sized, cpu);
}

void ExpectNear(const std::optional<double>& one, const std::optional<double>& other,
                const std::string& what) {
  ASSERT_EQ(one.has_value(), other.has_value()) << what;
  if (one) {
    EXPECT_NEAR(*one, *other, 2e-5 * std::max(1.0, std::abs(*other))) << what;
  }
}

double LeastThread(const SizedProduction& sized) {
  double least = 1e9;
  for (const SizedResource& row : sized.resources) {
    least = row.resource == Resource::kOneThread ? std::min(least, *row.headroom_percent) : least;
  }
  return least;
}

bool SaysItCannotTell(const SizedProduction& modelled) {
  return std::any_of(modelled.unproven.begin(), modelled.unproven.end(), [](const auto& part) {
    return part.text.find("not reckoned") != std::string::npos ||
           part.text.starts_with("production: ");
  });
}

std::string Told(const WhatIfModel& model, const std::vector<double>& values) {
  std::string text;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (values[i] != model.inputs[i].now) {
      text += model.inputs[i].group + " " + model.inputs[i].label + " " +
              std::to_string(values[i]) + "; ";
    }
  }
  return text;
}

void Compare(const SizedProduction& modelled, const SizedProduction& sized) {
  for (const SizedResource& row : sized.resources) {
    if (row.resource == Resource::kOneThread) {
      continue;  // those that are added are one row of the model
    }
    const std::string name = RowName(row.resource, row.item, " ");
    const SizedResource* const same = Same(modelled, row);
    ASSERT_NE(same, nullptr) << name;
    ExpectNear(same->asked, row.asked, name + " asked");
    ExpectNear(same->capacity, row.capacity, name + " capacity");
    ExpectNear(same->headroom_percent, row.headroom_percent, name + " left");
    ExpectNear(same->lowest_percent.value_or(0), row.lowest_percent.value_or(0), name + " lowest");
    ExpectNear(same->highest_percent.value_or(0), row.highest_percent.value_or(0),
               name + " highest");
    EXPECT_EQ(same->margin_percent, row.margin_percent) << name;
  }
  for (const SizedResource& row : modelled.resources) {
    const bool told = row.resource == Resource::kOneThread || Same(sized, row) != nullptr;
    EXPECT_TRUE(told) << base::WordOf(row.resource) << " " << row.item << " is the model's alone";
  }
  EXPECT_NEAR(LeastThread(modelled), LeastThread(sized), 0.01);
  EXPECT_EQ(modelled.unproven.empty(), sized.unproven.empty())
      << (sized.unproven.empty() ? modelled : sized).unproven.front().text;
  EXPECT_EQ(modelled.verdict, sized.verdict);
  EXPECT_EQ(modelled.sureness, sized.sureness);
}

TEST_P(WhatIfAgainstSizing, SaysTheSame) {
  const Evidence evidence = GetParam().make();
  const auto model = MakeWhatIf(evidence);
  ASSERT_TRUE(model);
  const Sizer sizer(evidence);
  const WhatIfControls controls = ControlsOf(evidence);
  std::mt19937 random(20310203);
  int told = 0;
  constexpr int kTrials = 150;
  for (int trial = 0; trial < kTrials && !HasFailure(); ++trial) {
    const std::vector<double> values = SomeInputs(*model, random);
    SCOPED_TRACE(Told(*model, values));
    const SizedProduction modelled = EvaluateWhatIf(*model, values);
    const SizedProduction sized = sizer.Size(Applied(controls, values));
    if (SaysItCannotTell(modelled)) {
      EXPECT_TRUE(modelled.verdict == Verdict::kUnproven || modelled.verdict == Verdict::kShort);
      continue;
    }
    ++told;
    Compare(modelled, sized);
  }
  EXPECT_GT(told, kTrials / 4);  // most is told, or the comparison shows nothing
}

/// A profile may list its isos in any order.
Evidence IsosBackwards() {
  Evidence evidence = Sample();
  auto& outputs = evidence.profile.outputs;
  std::reverse(outputs.begin(), outputs.end());
  return evidence;
}

INSTANTIATE_TEST_SUITE_P(
    Evidence, WhatIfAgainstSizing,
    ::testing::Values(Case{"TwoCameras", TwoCameras}, Case{"IsosBackwards", IsosBackwards},
                      Case{"OnPorts", OnPorts}, Case{"ByNetwork", ByNetwork},
                      Case{"WithMultiview", WithMultiview}, Case{"FlatOut", FlatOut},
                      Case{"GrownFlatOut", GrownFlatOut}, Case{"Survey", Survey},
                      Case{"RehearsalOnly", RehearsalOnly}, Case{"Sample", Sample}),
    [](const auto& one) { return std::string(one.param.name); });

/// The input of that group and label.
std::size_t InputOf(const WhatIfModel& model, const std::string& group, const std::string& label) {
  for (std::size_t i = 0; i < model.inputs.size(); ++i) {
    if (model.inputs[i].group.starts_with(group) && model.inputs[i].label == label) {
      return i;
    }
  }
  ADD_FAILURE() << group << " " << label;
  return 0;
}

TEST(WhatIf, OneMoreCameraTakesWhatOneTook) {
  const auto model = MakeWhatIf(TwoCameras());
  ASSERT_TRUE(model);
  std::vector<double> values = InputsNow(*model);
  values[InputOf(*model, "Source Left", "How many")] = 4;
  const SizedProduction sized = EvaluateWhatIf(*model, values);
  const SizedResource* const cpu = CpuOf(sized);
  ASSERT_NE(cpu, nullptr);
  EXPECT_NEAR(cpu->asked, 1.1 + 2 * 0.3, 1e-6);  // 1.8 + 3.6 + 12.6 s of CPU in 60 s each
}

TEST(WhatIf, TwoOutputsThatAskTheSameTakeOneEncode) {
  const auto model = MakeWhatIf(TwoCameras());
  ASSERT_TRUE(model);
  std::vector<double> values = InputsNow(*model);
  const auto cpu_of = [&](const std::vector<double>& with) {
    const SizedProduction sized = EvaluateWhatIf(*model, with);
    return CpuOf(sized)->asked;
  };
  const double before = cpu_of(values);
  // 24 s of CPU in 60 s were one encode of both: apart there are two of them.
  values[InputOf(*model, "Output Stream", "Bit rate")] += 1;
  EXPECT_GT(cpu_of(values), before + 0.4 * 0.8);
}

TEST(WhatIf, SurveyTellsNothingOfTheCpu) {
  const auto model = MakeWhatIf(Survey());
  ASSERT_TRUE(model);
  const SizedProduction sized = EvaluateWhatIf(*model, InputsNow(*model));
  EXPECT_THAT(UnprovenTexts(sized), Contains(HasSubstr("rigproof rehearse")));
  EXPECT_EQ(sized.verdict, Verdict::kUnproven);
}

TEST(WhatIf, WritesTablesShort) {
  NodeList nodes;
  TableAxes axes;
  axes.Add(nodes.Input(0), 2);
  axes.Add(nodes.Input(1), 2);
  nodes.Table(axes, {0.25, 0.5, 0.25, 0.5});  // the first input changes nothing
  nodes.Table(axes, {1, 1, 1, std::nan("")});
  WhatIfModel model;
  model.nodes = nodes.Take();
  const auto json = WhatIfJson(model);
  EXPECT_EQ(json["nodes"][2].dump(), R"(["table",[1],[2],"0.25 0.5"])");
  EXPECT_EQ(json["nodes"][3].dump(), R"(["table",[0,1],[2,2],"1x3 -"])");
}

TEST(WhatIf, IsInTheStoredResult) {
  const auto json = nlohmann::json::parse(WriteJson(Assess(TwoCameras())));
  EXPECT_EQ(json["what_if"]["inputs"][0]["label"], "Length");
  EXPECT_GT(json["what_if"]["nodes"].size(), 10U);
}

}  // namespace
}  // namespace report::testing
