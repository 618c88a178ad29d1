// SPDX-License-Identifier: Apache-2.0
//
// Waits for the answer of a call that may never return: a driver's, a library's, the resolver's.

#pragma once

#include <chrono>
#include <condition_variable>
#include <exception>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <stop_token>
#include <string>
#include <system_error>
#include <thread>
#include <utility>

#include "base/failure_text.h"
#include "base/result.h"

namespace base {

/// What `ask` says when it throws is an answer too: an Error.
template <typename T>
Result<T> Answer(const std::function<T()>& ask) {
  try {
    return ask();
  } catch (const std::exception& failure) {
    return Error{ErrorKind::kIo, "", FailureText(failure)};
  } catch (...) {
    return Error{ErrorKind::kIo, "", "failed without a reason"};
  }
}

/// The answer of `ask`, called on a thread of its own. Without one after `longest`,
/// or once `stop` is requested, the thread is left behind with the call, so `ask` must
/// own what it uses; `detail` says which ("gave no answer within 5 s").
template <typename T>
Result<T> AnswerWithin(std::chrono::seconds longest, std::function<T()> ask,
                       const std::stop_token& stop = {}) {
  struct Shared {
    std::mutex mutex;
    std::condition_variable_any changed;
    std::optional<Result<T>> answer;
  };
  auto shared = std::make_shared<Shared>();
  try {
    std::thread([shared, ask = std::move(ask)] {
      Result<T> answer = Answer(ask);
      const std::scoped_lock lock(shared->mutex);
      shared->answer = std::move(answer);
      shared->changed.notify_all();
    }).detach();
  } catch (const std::system_error& failure) {
    return Error{ErrorKind::kIo, "", std::string("no room for another thread: ") + failure.what()};
  }
  std::unique_lock lock(shared->mutex);
  if (shared->changed.wait_for(lock, stop, longest, [&] { return shared->answer.has_value(); })) {
    return *std::move(shared->answer);
  }
  return Error{ErrorKind::kIo, "",
               stop.stop_requested()
                   ? "stopped on request"
                   : "gave no answer within " + std::to_string(longest.count()) + " s"};
}

}  // namespace base
