// SPDX-License-Identifier: Apache-2.0
//
// Trials that give no answer, and those of the software encoders that this FFmpeg has.

#include "probes/pci_gpu/codec_trials.h"

#include <memory>
#include <new>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/gate.h"

namespace {

using probes::CodecTrial;
using probes::TryWithin;
using std::chrono::seconds;

constexpr seconds kNever{3600};

CodecTrial Named() {
  CodecTrial named;
  named.name = "h264_lab";
  named.codec = "h264";
  named.hardware = true;
  return named;
}

void ExpectUnanswered(const CodecTrial& trial, const std::string& reason) {
  EXPECT_EQ(trial.name, "h264_lab");
  EXPECT_EQ(trial.codec, "h264");
  EXPECT_TRUE(trial.hardware);
  EXPECT_FALSE(trial.works);
  EXPECT_EQ(trial.refusal, reason);
  EXPECT_EQ(trial.sessions.why_unknown(), reason);
  EXPECT_GT(trial.seconds, 0);
}

TEST(TryWithin, ATrialThatThrowsIsARefusal) {
  ExpectUnanswered(TryWithin(
                       Named(), []() -> CodecTrial { throw std::bad_alloc(); }, kNever),
                   "failed: std::bad_alloc");
}

TEST(TryWithin, ATrialThatHangsIsLeftBehind) {
  auto gate = std::make_shared<tests::Gate>();
  const auto hang = [gate] {
    gate->Wait();
    return CodecTrial();
  };
  ExpectUnanswered(TryWithin(Named(), hang, seconds{0}), "gave no answer within 0 s");
  std::stop_source stop;
  stop.request_stop();
  ExpectUnanswered(TryWithin(Named(), hang, kNever, stop.get_token()), "stopped on request");
  gate->OpenAndAwait(2);
}

TEST(TryWithin, AnAnswerIsTheTrialsOwn) {
  const CodecTrial trial = TryWithin(
      Named(), [] { return probes::TryEncoder("no_such_encoder"); }, kNever);
  EXPECT_EQ(trial.name, "no_such_encoder");
  EXPECT_FALSE(trial.works);
  EXPECT_NE(trial.refusal, "");
}

TEST(TryCodecs, StoppedBeforeItsFirstTrialSaysSo) {
  std::stop_source stop;
  stop.request_stop();
  const auto inventory = probes::TryCodecs(stop.get_token());
  EXPECT_TRUE(inventory.trials.empty());
  EXPECT_EQ(inventory.tried.why_unknown(), "stopped on request before all were opened");
}

}  // namespace
