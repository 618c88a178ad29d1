// SPDX-License-Identifier: Apache-2.0
//
// The options of watch, where metrics are served and to whom, and what a watch says.

#include <cstdint>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "cli/options/metrics_address.h"
#include "cli/options/options.h"
#include "cli/runs/watch_words.h"
#include "cli/runs/watching.h"

namespace cli {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Le;
using testing::SizeIs;

MetricsAddress Address(const std::string& text) {
  const auto address = ParseMetricsAddress(text);
  EXPECT_TRUE(address) << text;
  return address ? *address : MetricsAddress();
}

TEST(MetricsAddress, IsALiteralAddressAndAPort) {
  EXPECT_EQ(Address("127.0.0.1:9123").host, "127.0.0.1");
  EXPECT_EQ(Address("127.0.0.1:9123").port, 9123);
  EXPECT_TRUE(Address("127.0.0.1:0").loopback);
  EXPECT_EQ(Address("[::1]:80").host, "::1");
  EXPECT_TRUE(Address("[::1]:80").loopback);
  EXPECT_FALSE(Address("0.0.0.0:80").loopback);
  EXPECT_FALSE(Address("192.0.2.7:80").loopback);
  EXPECT_EQ(MetricsUrl(Address("[::1]:80")), "http://[::1]:80/metrics");
  for (const char* wrong : {"", "9123", "127.0.0.1", "127.0.0.1:", "127.0.0.1:x", "127.0.0.1:65536",
                            "127.0.0.1:-1", "localhost:80", "[::1]", "[::1:80", ":80"}) {
    EXPECT_FALSE(ParseMetricsAddress(wrong)) << wrong;
  }
}

TEST(MetricsAddress, AnswersNoNamesButLocalhost) {
  const MetricsAddress loopback = Address("127.0.0.1:9123");
  EXPECT_TRUE(IsOurHost("127.0.0.1:9123", loopback));
  EXPECT_TRUE(IsOurHost("localhost:9123", loopback));
  EXPECT_TRUE(IsOurHost("localhost", loopback));
  EXPECT_TRUE(IsOurHost("[::1]:9123", loopback));
  for (const char* wrong : {"", "rebound.example", "rebound.example:9123", "192.0.2.7:9123",
                            "127.0.0.1.rebound.example", "localhost.rebound.example:9123"}) {
    EXPECT_FALSE(IsOurHost(wrong, loopback)) << wrong;
  }
  const MetricsAddress open = Address("0.0.0.0:9123");
  EXPECT_TRUE(IsOurHost("192.0.2.7:9123", open));
  EXPECT_FALSE(IsOurHost("rebound.example:9123", open));
}

TEST(WatchOptions, AllOfThem) {
  const auto invocation =
      ParseArguments({"watch", "--into", "log", "--program", "mixer", "--metrics", "127.0.0.1:9123",
                      "--seconds", "60", "--hz", "5", "--most-size", "2GB"});
  ASSERT_TRUE(invocation) << invocation.error().detail;
  const Options& options = invocation->options;
  EXPECT_EQ(options.command, Command::kWatch);
  EXPECT_EQ(options.into, "log");
  EXPECT_EQ(options.program, "mixer");
  EXPECT_EQ(options.metrics->port, 9123);
  EXPECT_EQ(options.seconds, 60);
  EXPECT_EQ(options.hz, 5);
  EXPECT_EQ(options.most_bytes, 2'000'000'000);
}

TEST(WatchOptions, SizesWithAUnit) {
  const auto bytes = [](const std::string& size) {
    const auto invocation = ParseArguments({"watch", "--into", "log", "--most-size", size});
    return invocation ? invocation->options.most_bytes : -1;
  };
  EXPECT_EQ(bytes("8MB"), 8'000'000);
  EXPECT_EQ(bytes("1000GB"), 1'000'000'000'000);
  for (const char* wrong :
       {"7MB", "1001GB", "0GB", "-1GB", "9", "9KB", "GB", "1.5GB", "99999999999999999999GB"}) {
    EXPECT_EQ(bytes(wrong), -1) << wrong;
  }
}

probes::WatchState MadeState() {
  probes::WatchState state;
  state.head.cpus = 8;
  state.program = "mixer";
  state.program_pid = 12;
  state.samples = 30;
  state.log_bytes = 2000;
  state.second.program_runs = true;
  state.second.pc.own_cpus = 1.5;
  state.second.pc.busy_cpus = 2.25;
  state.second.pc.io_pressure_percent = 12;
  state.kernel_lines = std::int64_t{4};
  state.kernel_causes = {{"usb-errors", 2}};
  state.not_read = {"CPU frequency: no driver"};
  return state;
}

TEST(WatchWords, TheViewFitsAndTellsWhatIsUnknown) {
  for (const int columns : {20, 40, 80, 200}) {
    const auto lines = WatchView(MadeState(), columns);
    ASSERT_THAT(lines, SizeIs(2));
    for (const std::string& line : lines) {
      EXPECT_THAT(line.size(), Le(static_cast<std::size_t>(columns)));
    }
  }
  const auto lines = WatchView(MadeState(), 200);
  EXPECT_THAT(lines[0], AllOf(HasSubstr("mixer"), HasSubstr("usb-errors 2")));
  EXPECT_THAT(lines[1],
              AllOf(HasSubstr("own 1.50"), HasSubstr("2.25 of 8 CPUs"), HasSubstr("disk 12 %"),
                    HasSubstr("disk unknown"), HasSubstr("CPU unknown")));
}

TEST(WatchWords, TheSummaryTellsTheBusiestApartFromTheAsked) {
  probes::WatchState state = MadeState();
  EXPECT_THAT(WatchSummaryText(state, "log", {}), HasSubstr("mixer (12), the busiest"));
  state.program_as_asked = true;
  EXPECT_THAT(WatchSummaryText(state, "log", {}),
              AllOf(HasSubstr("mixer (12), as asked"), HasSubstr("CPU frequency: no driver"),
                    HasSubstr("4 new lines, 2 lines of known trouble")));
}

TEST(WatchWords, AProgramThatHasEndedIsStillTheOneThatWasWatched) {
  probes::WatchState state = MadeState();
  state.program.clear();
  state.program_before = "mixer";
  EXPECT_THAT(WatchSummaryText(state, "log", {}), HasSubstr("Watched mixer, which has ended"));
  EXPECT_THAT(WatchView(state, 200)[0], HasSubstr("mixer (ended)"));
}

TEST(WatchWords, TheSummaryForPrograms) {
  probes::WatchState state = MadeState();
  auto json = nlohmann::json::parse(WatchSummaryJson(state, "log", {60, 0.3, 9e6}));
  EXPECT_EQ(json["program"]["pid"], 12);
  EXPECT_EQ(json["kernel_troubles"]["usb-errors"], 2);
  EXPECT_EQ(json["complete"], true);
  EXPECT_NEAR(json["cost"]["cpu_percent"].get<double>(), 0.5, 1e-9);
  state.program.clear();
  state.kernel_lines = base::Reading<std::int64_t>::Unknown("not allowed");
  state.failure = base::Error{base::ErrorKind::kIo, "disk guard", "no room"};
  json = nlohmann::json::parse(WatchSummaryJson(state, "log", {}));
  EXPECT_TRUE(json["program"].is_null());
  EXPECT_TRUE(json["kernel_lines"].is_null());
  EXPECT_EQ(json["complete"], false);
  EXPECT_EQ(json["failure"], "disk guard: no room");
}

}  // namespace
}  // namespace cli
