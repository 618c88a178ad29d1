#include "bench/run_watch.h"

#include <thread>

#include "bench/disk_guard.h"

namespace bench {

void Watch::Run(const std::function<std::chrono::nanoseconds()>& look) {
  std::jthread joiner([this] {
    pipeline_.Join();
    const std::scoped_lock lock(mutex_);
    through_ = true;
    changed_.notify_all();
  });
  std::unique_lock lock(mutex_);
  while (!through_) {
    lock.unlock();
    const auto wait = look();
    lock.lock();
    changed_.wait_for(lock, wait, [this] { return through_; });
  }
}

RoomGuard::RoomGuard(const RehearsalPlan& plan) {
  for (const OutputPlan& output : plan.outputs) {
    if (!output.stream() && output.format != "null") {
      folders_.insert(std::filesystem::path(output.target).parent_path());
    }
  }
}

void RoomGuard::Check(RunControl& control) const {
  for (const auto& folder : folders_) {
    const auto room = ReadRoom(folder.empty() ? "." : folder);
    if (room && room->usable_bytes() == 0) {
      control.Stop(folder.string() + ": the disk has no more room above what must stay free");
    }
  }
}

base::Status OpenOrEnd(Pipeline& pipeline, RunControl& control) {
  auto opened = pipeline.Open();
  if (!opened) {
    control.Stop(opened.error().detail);
    pipeline.Join();
  }
  return opened;
}

}  // namespace bench
