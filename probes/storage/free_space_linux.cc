// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/free_space.h"

#include <sys/statvfs.h>

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>

namespace probes {
namespace {

using Time = std::chrono::steady_clock;
constexpr auto kAskEvery = std::chrono::seconds(1);
constexpr auto kTooOld = std::chrono::seconds(4);

}  // namespace

struct FreeSpace::State {
  std::mutex mutex;
  std::condition_variable changed;
  std::string path;
  bool leaving = false;
  bool left = false;
  std::optional<double> bytes;
  Time::time_point told;
  std::thread thread;
};

namespace {

template <typename State>
void Ask(const std::shared_ptr<State>& state) {
  std::unique_lock lock(state->mutex);
  while (!state->leaving) {
    const std::string path = state->path;
    if (!path.empty()) {
      lock.unlock();
      struct statvfs space {};
      const bool told = statvfs(path.c_str(), &space) == 0;
      lock.lock();
      state->bytes = told && path == state->path
                         ? std::optional(static_cast<double>(space.f_bavail) *
                                         static_cast<double>(space.f_frsize))
                         : std::nullopt;
      state->told = Time::now();
    }
    state->changed.wait_for(lock, kAskEvery, [&] { return state->leaving || path != state->path; });
  }
  state->left = true;
  state->changed.notify_all();
}

}  // namespace

FreeSpace::FreeSpace() : state_(std::make_shared<State>()) {
  state_->thread = std::thread([state = state_] { Ask(state); });
}

FreeSpace::~FreeSpace() {
  constexpr auto kLongestEnd = std::chrono::milliseconds(100);
  std::unique_lock lock(state_->mutex);
  state_->leaving = true;
  state_->changed.notify_all();
  state_->changed.wait_for(lock, kLongestEnd, [this] { return state_->left; });
  const bool left = state_->left;
  lock.unlock();
  if (left) {
    state_->thread.join();
  } else {
    state_->thread.detach();  // it waits for a file system, with all that it needs
  }
}

void FreeSpace::Watch(const std::string& path) {
  const std::lock_guard lock(state_->mutex);
  if (state_->path != path) {
    state_->path = path;
    state_->bytes.reset();
    state_->changed.notify_all();
  }
}

std::optional<double> FreeSpace::Bytes() const {
  const std::lock_guard lock(state_->mutex);
  return Time::now() - state_->told < kTooOld ? state_->bytes : std::nullopt;
}

}  // namespace probes
