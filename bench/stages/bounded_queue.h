// SPDX-License-Identifier: Apache-2.0
//
// A queue of fixed depth between two stages. A full queue is how a slow stage shows.

#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <mutex>
#include <optional>
#include <utility>

namespace bench {

template <typename T>
class BoundedQueue {
 public:
  /// A waiting Push() is woken once at most `wake_at` items are left; by
  /// default as soon as there is room. Fewer wakings, same depth.
  explicit BoundedQueue(std::size_t depth) : BoundedQueue(depth, depth - 1) {}
  BoundedQueue(std::size_t depth, std::size_t wake_at) : depth_(depth), wake_at_(wake_at) {}

  /// False when the queue is full or closed; `item` is then untouched.
  bool TryPush(T&& item) {
    const std::scoped_lock lock(mutex_);
    if (closed_ || items_.size() >= depth_) {
      return false;
    }
    items_.push_back(std::move(item));
    filled_.notify_one();
    return true;
  }

  /// Waits for room; false only when the queue is closed.
  bool Push(T&& item) {
    std::unique_lock lock(mutex_);
    emptied_.wait(lock, [&] { return closed_ || items_.size() < depth_; });
    if (closed_) {
      return false;
    }
    items_.push_back(std::move(item));
    filled_.notify_one();
    return true;
  }

  /// Beyond the depth if need be: for the few items that must not wait.
  bool PushBeyond(T&& item, std::size_t extra) {
    const std::scoped_lock lock(mutex_);
    if (closed_ || items_.size() >= depth_ + extra) {
      return false;
    }
    items_.push_back(std::move(item));
    filled_.notify_one();
    return true;
  }

  /// The oldest item; waits. Nothing once the queue is closed and empty.
  std::optional<T> Pop() {
    std::unique_lock lock(mutex_);
    filled_.wait(lock, [&] { return closed_ || !items_.empty(); });
    if (items_.empty()) {
      return std::nullopt;
    }
    std::optional<T> item(std::move(items_.front()));
    items_.pop_front();
    if (items_.size() <= wake_at_) {
      emptied_.notify_one();
    }
    return item;
  }

  /// No more items come; what is in it can still be taken. A closed queue
  /// means the run is ending: items refused then are no drops.
  void Close() {
    const std::scoped_lock lock(mutex_);
    closed_ = true;
    filled_.notify_all();
    emptied_.notify_all();
  }

  bool closed() const {
    const std::scoped_lock lock(mutex_);
    return closed_;
  }

  bool Full() const {
    const std::scoped_lock lock(mutex_);
    return items_.size() >= depth_;
  }

 private:
  const std::size_t depth_;
  const std::size_t wake_at_;
  mutable std::mutex mutex_;
  std::condition_variable filled_;
  std::condition_variable emptied_;
  std::deque<T> items_;
  bool closed_ = false;
};

}  // namespace bench
