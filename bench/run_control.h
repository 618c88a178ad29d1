// SPDX-License-Identifier: Apache-2.0
//
// How a run ends before its time: by the user, or because a part failed.

#pragma once

#include <atomic>
#include <exception>
#include <functional>
#include <mutex>
#include <string>
#include <vector>

namespace bench {

/// Shared by all threads of a run. Thread-safe.
class RunControl {
 public:
  /// `close` makes waiting threads return; called once, at the stop.
  void OnStop(std::function<void()> close);
  /// The first reason is kept.
  void Stop(const std::string& reason);

  bool stopped() const { return stopped_; }
  std::string reason() const;

 private:
  std::atomic<bool> stopped_{false};
  mutable std::mutex mutex_;
  std::string reason_;
  std::vector<std::function<void()>> closers_;
};

/// What to say of an exception that ends a run: what() alone is no sentence.
std::string ShortageText(const std::exception& failure);

}  // namespace bench
