// SPDX-License-Identifier: Apache-2.0
//
// A stop that comes by itself when time is up.

#pragma once

#include <atomic>
#include <functional>
#include <stop_token>
#include <thread>

namespace cli {

/// Requests a stop after `seconds`, or when `also` requests one.
class StopAfter {
 public:
  StopAfter(double seconds, const std::stop_token& also);
  StopAfter(const StopAfter&) = delete;
  StopAfter& operator=(const StopAfter&) = delete;

  std::stop_token Token() const { return source_.get_token(); }
  /// Whether it was the time that stopped it.
  bool TimeIsUp() const { return time_is_up_; }

 private:
  std::stop_source source_;
  std::atomic<bool> time_is_up_ = false;
  std::stop_callback<std::function<void()>> pass_on_;
  std::jthread timer_;
};

}  // namespace cli
