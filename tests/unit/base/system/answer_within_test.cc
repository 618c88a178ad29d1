// SPDX-License-Identifier: Apache-2.0

#include "base/system/answer_within.h"

#include <memory>
#include <new>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/gate.h"
#include "tests/support/no_more_threads.h"

namespace {

using base::AnswerWithin;
using std::chrono::seconds;
using testing::HasSubstr;

constexpr seconds kNever{3600};

TEST(AnswerWithin, GivesTheAnswer) {
  const auto answer = AnswerWithin<int>(kNever, [] { return 7; });
  ASSERT_TRUE(answer) << answer.error().detail;
  EXPECT_EQ(*answer, 7);
}

TEST(AnswerWithin, WhatIsThrownIsAnError) {
  EXPECT_EQ(AnswerWithin<int>(kNever, []() -> int { throw std::bad_alloc(); }).error().detail,
            "failed: std::bad_alloc");
  EXPECT_EQ(AnswerWithin<int>(kNever, []() -> int { throw 1; }).error().detail,
            "failed without a reason");
}

TEST(AnswerWithin, LeavesACallThatDoesNotReturn) {
  auto gate = std::make_shared<tests::Gate>();
  const auto answer = AnswerWithin<int>(seconds{0}, [gate] {
    gate->Wait();
    return 7;
  });
  EXPECT_EQ(answer.error().detail, "gave no answer within 0 s");
  gate->OpenAndAwait(1);
}

TEST(AnswerWithin, AStopEndsTheWaitAtOnce) {
  auto gate = std::make_shared<tests::Gate>();
  auto stop = std::make_shared<std::stop_source>();
  const auto answer = AnswerWithin<int>(
      kNever,
      [gate, stop] {
        stop->request_stop();
        gate->Wait();
        return 7;
      },
      stop->get_token());
  EXPECT_EQ(answer.error().detail, "stopped on request");
  gate->OpenAndAwait(1);
}

TEST(AnswerWithin, SaysThatThereIsNoRoomForAThread) {
  const tests::NoMoreThreads none;
  if (!none.Begin()) {
    GTEST_SKIP() << "SKIPPED: this system takes no stack of that size";
  }
  EXPECT_THAT(AnswerWithin<int>(kNever, [] { return 7; }).error().detail,
              HasSubstr("no room for another thread: "));
}

}  // namespace
