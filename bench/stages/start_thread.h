// SPDX-License-Identifier: Apache-2.0
//
// A thread that opens what it works with, says whether it could, and then works.

#pragma once

#include <exception>
#include <future>
#include <thread>
#include <utility>

#include "base/result.h"
#include "bench/stages/run_control.h"

namespace bench {

/// Runs `open` then `run` on a new thread; gives open's status once it is known.
template <typename Open, typename Run>
base::Status StartThread(std::jthread& thread, Open open, Run run) {
  std::promise<base::Status> opened;
  auto status = opened.get_future();
  thread = std::jthread([promise = std::move(opened), open, run]() mutable {
    base::Status result = base::Done{};
    try {
      result = open();
    } catch (const std::exception& failure) {
      result = base::Error{base::ErrorKind::kIo, "", ShortageText(failure)};
    }
    const bool ready = result.has_value();
    promise.set_value(std::move(result));
    if (ready) {
      run();
    }
  });
  return status.get();
}

}  // namespace bench
