#include "probes/read_ahead.h"

#include <span>

namespace probes {

void ReadAhead::Ask(std::int64_t at, std::size_t room, std::size_t bytes) {
  Drop();
  at_ = at;
  room_ = room;
  piece_.resize(room + bytes);
  asked_ = true;
  {
    const std::lock_guard lock(mutex_);
    busy_ = true;
  }
  if (thread_.joinable()) {
    changed_.notify_all();
  } else {
    thread_ = std::jthread([this](const std::stop_token& stop) { Work(stop); });
  }
}

void ReadAhead::Take(std::vector<std::uint8_t>& into) {
  Drop();
  into.swap(piece_);
}

void ReadAhead::Drop() {
  if (asked_) {
    Wait();
    asked_ = false;
  }
}

void ReadAhead::Wait() {
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [this] { return !busy_; });
}

void ReadAhead::Work(const std::stop_token& stop) {
  std::unique_lock lock(mutex_);
  while (changed_.wait(lock, stop, [this] { return busy_; })) {
    lock.unlock();
    piece_.resize(room_ + source_->ReadAt(at_, std::span(piece_).subspan(room_)));
    lock.lock();
    busy_ = false;
    changed_.notify_all();
  }
}

}  // namespace probes
