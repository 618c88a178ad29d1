// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/writer_threads.h"

#include <sys/syscall.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "base/text.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/watch_texts.h"

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

bool WriterThreads::Find(const std::set<int>& pids) {
  std::map<Key, Thread> found;
  bool any = pids.empty();
  for (const int pid : pids) {
    for (const std::string& name : root_.List(FolderOf(pid)).value_or({})) {
      const auto number = base::ParseInt(name);
      if (!number || found.size() >= kMostThreads) {
        continue;
      }
      const auto text = ReadOnce(root_, FolderOf(pid) + "/" + name + "/io");
      const auto written = text ? ParseWrittenChars(*text) : std::nullopt;
      if (!written) {
        continue;
      }
      any = true;
      const Key key{pid, static_cast<int>(*number)};
      const auto known = threads_.find(key);
      Thread thread = known == threads_.end() ? Thread{*written, 0, 0, false} : known->second;
      thread.lately = std::max<std::int64_t>(0, *written - thread.written);
      thread.quiet_looks = thread.lately > 0 ? 0 : thread.quiet_looks + 1;
      thread.written = *written;
      found.emplace(key, thread);
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
    const auto text =
        ReadOnce(root_, FolderOf(key.first) + "/" + std::to_string(key.second) + "/syscall");
    if (!text) {
      continue;
    }
    ++writers;
    const auto call = ParseSystemCall(*text);
    if (call &&
        std::find(kWriteCalls.begin(), kWriteCalls.end(), call->first) != kWriteCalls.end() &&
        files.Holds(key.first, call->second)) {
      ++asleep;
      thread.quiet_looks = 0;  // it would write if it could
    }
  }
  return writers > 0 ? std::optional(100.0 * asleep / writers) : std::nullopt;
}

}  // namespace probes
