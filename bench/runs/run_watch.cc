// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/run_watch.h"

#include <exception>
#include <thread>

#include "bench/disk/guard.h"

namespace bench {

void Watch::Run(const std::function<std::chrono::nanoseconds()>& look) {
  std::jthread joiner;
  try {
    joiner = std::jthread([this] {
      pipeline_.Join();
      const std::scoped_lock lock(mutex_);
      through_ = true;
      changed_.notify_all();
    });
  } catch (const std::exception& failure) {
    control_.Stop(ShortageText(failure));
    pipeline_.Join();
    return;
  }
  std::unique_lock lock(mutex_);
  while (!through_) {
    lock.unlock();
    const auto wait = Looked(look);
    lock.lock();
    changed_.wait_for(lock, wait, [this] { return through_; });
  }
}

std::chrono::nanoseconds Watch::Looked(const std::function<std::chrono::nanoseconds()>& look) {
  try {
    return look();
  } catch (const std::exception& failure) {  // the run ends, its accounts stay
    control_.Stop(ShortageText(failure));
    return std::chrono::milliseconds(100);
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
      control.Stop(
          {StopPart::kRun, folder.string(), "the disk has no more room above what must stay free"});
    }
  }
}

base::Status OpenOrEnd(Pipeline& pipeline, RunControl& control) {
  base::Status opened = base::Done{};
  try {
    opened = pipeline.Open();
  } catch (const std::exception& failure) {
    opened = base::Error{base::ErrorKind::kIo, "", ShortageText(failure)};
  }
  if (!opened) {
    control.Stop(opened.error().detail);
    pipeline.Join();
  }
  return opened;
}

}  // namespace bench
