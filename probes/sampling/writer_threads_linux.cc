// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/writer_threads.h"

#include <sys/syscall.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "probes/procfs/process_texts.h"

namespace probes {
namespace {

/// Calls in which a writer waits for a file system; the descriptor is their first argument.
constexpr std::array<std::int64_t, 8> kWriteCalls{SYS_write,           SYS_pwrite64, SYS_writev,
                                                  SYS_pwritev,         SYS_fsync,    SYS_fdatasync,
                                                  SYS_sync_file_range, SYS_fallocate};

constexpr std::size_t kMostThreads = 128;
constexpr std::size_t kMostWriters = 4;
constexpr int kQuietLooks = 5;

std::string FolderOf(int pid) {
  return "/proc/" + std::to_string(pid) + "/task";
}

}  // namespace

std::optional<std::int64_t> AwaitedWrite(std::string_view syscall_text) {
  const auto call = ParseSystemCall(syscall_text);
  const bool writes =
      call && std::find(kWriteCalls.begin(), kWriteCalls.end(), call->first) != kWriteCalls.end();
  return writes ? std::optional(call->second) : std::nullopt;
}

bool WriterThreads::Find(const std::set<int>& pids) {
  std::map<Key, Thread> found;
  bool any = pids.empty();
  for (const int pid : pids) {
    for (const int number : NumbersIn(root_, FolderOf(pid))) {
      if (found.size() >= kMostThreads) {
        break;
      }
      const auto text = ReadOnce(root_, FolderOf(pid) + "/" + std::to_string(number) + "/io");
      const auto written = text ? ParseProcessIo(*text).written_chars : std::nullopt;
      if (!written) {
        continue;
      }
      any = true;
      const Key key{pid, number};
      const auto known = threads_.find(key);
      Thread thread =
          known == threads_.end() ? Thread{*written, 0, 0, false, {}} : std::move(known->second);
      thread.lately = std::max<std::int64_t>(0, *written - thread.written);
      thread.quiet_looks = thread.lately > 0 ? 0 : thread.quiet_looks + 1;
      thread.written = *written;
      found.emplace(key, std::move(thread));
    }
  }
  threads_ = std::move(found);
  ChooseWriters();
  return any;
}

void WriterThreads::ChooseWriters() {
  std::vector<Thread*> candidates;
  for (auto& [key, thread] : threads_) {
    const bool stays = thread.writes && thread.quiet_looks < kQuietLooks;
    thread.writes = false;
    if (thread.lately > 0 || stays) {
      candidates.push_back(&thread);
    }
  }
  std::sort(candidates.begin(), candidates.end(),
            [](const Thread* a, const Thread* b) { return a->lately > b->lately; });
  for (std::size_t i = 0; i < std::min(candidates.size(), kMostWriters); ++i) {
    candidates[i]->writes = true;
  }
}

std::optional<double> WriterThreads::AsleepPercent(const RecordingFiles& files) {
  int writers = 0;
  int asleep = 0;
  for (auto& [key, thread] : threads_) {
    if (!thread.writes) {
      continue;
    }
    if (!thread.call) {
      thread.call.emplace(root_,
                          FolderOf(key.first) + "/" + std::to_string(key.second) + "/syscall");
    }
    const auto text = thread.call->Read();
    if (!text) {
      continue;
    }
    ++writers;
    const auto descriptor = AwaitedWrite(*text);
    if (descriptor && files.Holds(key.first, *descriptor)) {
      ++asleep;
      thread.quiet_looks = 0;  // it would write if it could
    }
  }
  return writers > 0 ? std::optional(100.0 * asleep / writers) : std::nullopt;
}

}  // namespace probes
