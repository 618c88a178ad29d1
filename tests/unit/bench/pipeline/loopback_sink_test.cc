// SPDX-License-Identifier: Apache-2.0
//
// Streams of each protocol to the program's own sink, which counts what arrives.

#include "bench/pipeline/loopback_sink.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

struct Way {
  const char* container;
  const char* url;  // never opened: streams stay on this PC unless asked for
  const char* name;
};

class EveryWay : public testing::TestWithParam<Way> {};
INSTANTIATE_TEST_SUITE_P(LoopbackSink, EveryWay,
                         testing::Values(Way{"flv", "rtmp://192.0.2.1/live/invented", "Rtmp"},
                                         Way{"mpegts", "srt://192.0.2.1:9000", "Srt"},
                                         Way{"mpegts", "udp://192.0.2.1:9000", "Udp"},
                                         Way{"mpegts", "tcp://192.0.2.1:9000", "Tcp"}),
                         [](const auto& row) { return std::string(row.param.name); });

TEST_P(EveryWay, CountsEveryFrameThatWasDelivered) {
  profiles::Profile profile = tests::SmallProduction();
  profile.outputs.resize(1);
  profile.outputs[0].kind = profiles::OutputKind::kStream;
  profile.outputs[0].container = GetParam().container;
  profile.outputs[0].url = GetParam().url;
  base::SystemClock clock;
  const Rehearsal run = tests::Rehearse(profile, {}, 1, clock);
  EXPECT_TRUE(run.complete) << run.stopped_because;
  tests::ExpectBalanced(run);
  ASSERT_EQ(run.outputs.size(), 1U);
  EXPECT_GT(run.outputs[0].delivered, 0);
  EXPECT_EQ(run.outputs[0].received, run.outputs[0].delivered);
}

TEST(LoopbackSink, SpeaksTheProtocolThatItIsAskedFor) {
  using profiles::Transport;
  for (const auto& [transport, scheme] : {std::pair{Transport::kRtmp, "rtmp://127.0.0.1:"},
                                          std::pair{Transport::kSrt, "srt://127.0.0.1:"},
                                          std::pair{Transport::kUdp, "udp://127.0.0.1:"},
                                          std::pair{Transport::kTcp, "tcp://127.0.0.1:"}}) {
    auto sink = LoopbackSink::Start(transport);
    ASSERT_TRUE(sink);
    EXPECT_THAT((*sink)->url(), testing::StartsWith(scheme));
  }
}

}  // namespace
}  // namespace bench
