// SPDX-License-Identifier: Apache-2.0
//
// A PC that has no room for another thread, for tests of what comes then.

#pragma once

#include <pthread.h>

#include <cstddef>

namespace tests {

/// From Begin() until its end no thread starts: the stack that each would get is
/// larger than the address space (128 TiB on x86-64 and ARM64).
class NoMoreThreads {
 public:
  NoMoreThreads() { pthread_getattr_default_np(&before_); }
  ~NoMoreThreads() {
    pthread_setattr_default_np(&before_);
    pthread_attr_destroy(&before_);
  }
  NoMoreThreads(const NoMoreThreads&) = delete;
  NoMoreThreads& operator=(const NoMoreThreads&) = delete;

  /// False: this system takes no such stack, and the test cannot be made.
  bool Begin() const {
    pthread_attr_t endless;
    pthread_attr_init(&endless);
    const bool taken = pthread_attr_setstacksize(&endless, std::size_t{1} << 47U) == 0 &&
                       pthread_setattr_default_np(&endless) == 0;
    pthread_attr_destroy(&endless);
    return taken;
  }

 private:
  pthread_attr_t before_{};
};

}  // namespace tests
