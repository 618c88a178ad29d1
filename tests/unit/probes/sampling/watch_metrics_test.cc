// SPDX-License-Identifier: Apache-2.0
//
// What monitoring programs get.

#include "probes/sampling/watch_metrics.h"

#include <set>
#include <sstream>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/watch_made_samples.h"

namespace {

using probes::MetricsForm;
using testing::EndsWith;
using testing::HasSubstr;
using testing::Not;

probes::WatchState MadeState() {
  probes::WatchState state;
  state.head = tests::MadeHead();
  state.devices = tests::MadeDevices();
  state.second = tests::MadeSample(10);
  state.program = "mi\"x\\er";
  state.samples = 10;
  state.kernel_lines = std::int64_t{4};
  state.kernel_causes = {{"usb-errors", 2}};
  return state;
}

TEST(WriteMetrics, OpenMetricsInBaseUnits) {
  const std::string text = probes::WriteMetrics(MadeState(), MetricsForm::kOpenMetrics);
  EXPECT_THAT(text, EndsWith("\n# EOF\n"));
  EXPECT_THAT(text, HasSubstr("# TYPE rigproof_samples counter\n"));
  EXPECT_THAT(text, HasSubstr("\nrigproof_samples_total 10\n"));
  EXPECT_THAT(text, HasSubstr("# UNIT rigproof_io_pressure_ratio ratio\n"));
  EXPECT_THAT(text, HasSubstr("\nrigproof_io_pressure_ratio 0.125\n"));
  EXPECT_THAT(text, HasSubstr("\nrigproof_disk_write_seconds{device=\"sda\"} 0.00225\n"));
  EXPECT_THAT(
      text,
      HasSubstr("\nrigproof_engine_busy_ratio{device=\"0000:00:02.0\",engine=\"video\"} 0.625\n"));
  EXPECT_THAT(text, HasSubstr("program=\"mi\\\"x\\\\er\""));
  EXPECT_THAT(text, HasSubstr("rigproof_kernel_troubles_total{cause=\"usb-errors\"} 2\n"));
  EXPECT_THAT(text, Not(HasSubstr("percent")));
}

TEST(WriteMetrics, EveryFamilyOnceAndWithHelp) {
  for (const MetricsForm form : {MetricsForm::kOpenMetrics, MetricsForm::kPlainText}) {
    std::istringstream lines(probes::WriteMetrics(MadeState(), form));
    std::set<std::string> types;
    std::set<std::string> helped;
    std::set<std::string> values;
    for (std::string line; std::getline(lines, line);) {
      std::istringstream words(line);
      std::string hash;
      std::string kind;
      std::string name;
      words >> hash >> kind >> name;
      if (kind == "TYPE") {
        EXPECT_TRUE(types.insert(name).second) << name;
      } else if (kind == "HELP") {
        EXPECT_TRUE(helped.insert(name).second) << name;
      } else if (hash != "#") {
        EXPECT_TRUE(values.insert(line.substr(0, line.rfind(' '))).second) << line;
      }
    }
    EXPECT_EQ(types, helped);
    EXPECT_GT(values.size(), 20U);
  }
}

TEST(WriteMetrics, ThePlainTextKnowsNoUnitsAndNoEnd) {
  const std::string text = probes::WriteMetrics(MadeState(), MetricsForm::kPlainText);
  EXPECT_THAT(text, Not(HasSubstr("# EOF")));
  EXPECT_THAT(text, Not(HasSubstr("# UNIT")));
  EXPECT_THAT(text, HasSubstr("# TYPE rigproof_samples_total counter\n"));
  EXPECT_THAT(std::string(ContentType(MetricsForm::kPlainText)),
              HasSubstr("text/plain; version=0.0.4"));
  // As OpenMetrics 1.0 writes it, "Protocol Negotiation".
  EXPECT_EQ(ContentType(MetricsForm::kOpenMetrics),
            "application/openmetrics-text; version=1.0.0; charset=utf-8");
}

}  // namespace
