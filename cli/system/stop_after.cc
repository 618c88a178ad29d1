// SPDX-License-Identifier: Apache-2.0

#include "cli/system/stop_after.h"

#include <chrono>
#include <condition_variable>
#include <mutex>

namespace cli {

StopAfter::StopAfter(double seconds, const std::stop_token& also)
    : pass_on_(also, [this] { source_.request_stop(); }),
      timer_([this, seconds](const std::stop_token& over) {
        std::mutex mutex;
        std::condition_variable_any wake;
        std::unique_lock lock(mutex);
        wake.wait_for(lock, over, std::chrono::duration<double>(seconds), [] { return false; });
        if (!over.stop_requested()) {
          time_is_up_ = true;
          source_.request_stop();
        }
      }) {}

}  // namespace cli
