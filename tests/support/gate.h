// SPDX-License-Identifier: Apache-2.0
//
// Holds whoever comes, as a driver that does not return, until a test lets them through.

#pragma once

#include <condition_variable>
#include <mutex>

namespace tests {

/// To be shared with the threads that wait: they outlive a test.
class Gate {
 public:
  void Wait() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [this] { return open_; });
    ++through_;
    changed_.notify_all();
  }
  void OpenAndAwait(int count) {
    std::unique_lock lock(mutex_);
    open_ = true;
    changed_.notify_all();
    changed_.wait(lock, [&] { return through_ >= count; });
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool open_ = false;
  int through_ = 0;
};

}  // namespace tests
