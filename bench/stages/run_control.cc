// SPDX-License-Identifier: Apache-2.0

#include "bench/stages/run_control.h"

#include <utility>

namespace bench {

void RunControl::OnStop(std::function<void()> close) {
  const std::scoped_lock lock(mutex_);
  if (stopped_) {
    close();
  } else {
    closers_.push_back(std::move(close));
  }
}

void RunControl::Stop(StopReason reason) {
  const std::scoped_lock lock(mutex_);
  if (stopped_.exchange(true)) {
    return;
  }
  reason_ = std::move(reason);
  for (const auto& close : closers_) {
    close();
  }
}

StopReason RunControl::stop_reason() const {
  const std::scoped_lock lock(mutex_);
  return reason_;
}

std::string ShortageText(const std::exception& failure) {
  return std::string("no memory or no room for another thread: ") + failure.what();
}

}  // namespace bench
