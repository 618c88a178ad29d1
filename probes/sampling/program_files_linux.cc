// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/program_files.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstddef>
#include <optional>
#include <string>
#include <utility>

#include "probes/procfs/kept_file.h"
#include "probes/procfs/process_texts.h"
#include "probes/sampling/our_processes.h"

namespace probes {
namespace {

constexpr int kFilesEveryLooks = 2;  // of those around
constexpr int kListsKept = 5;        // looks for files for which the list of sockets holds
constexpr std::array<const char*, 2> kSocketLists{"/net/tcp", "/net/tcp6"};

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

ProgramFiles::ProgramFiles(const base::MachineRoot& root, Missing missing)
    : root_(root), missing_(std::move(missing)), files_(root), writers_(root) {}

void ProgramFiles::Choose(int pid) {
  pid_ = pid;
  looks_around_ = 0;
  space_.Watch("");
  files_.Find({});
  queues_.reset();
}

void ProgramFiles::LookAround(const std::set<int>& busiest) {
  if (pid_ == 0 || looks_around_++ % kFilesEveryLooks != 0) {
    return;
  }
  if (!files_.Find(busiest)) {
    missing_("files that the program writes", "only its own user and root may see them");
  }
  if (!writers_.Find(busiest)) {
    missing_("whether the program's writers wait for the disk",
             "only its own user and root may see it");
  }
  FindConnections();
  space_.Watch(root_.live() ? files_.busiest_path() : "");
}

/// By the long list, so that each can be asked for by name afterwards; again where the program has
/// other sockets, or once in a while, since a socket may be connected later.
void ProgramFiles::FindConnections() {
  if (!root_.live() || !SharesOurNetwork(pid_)) {
    queues_.reset();
    return;
  }
  if (queues_ == nullptr) {
    queues_ = OpenSocketQueues();
  } else if (files_.sockets() == listed_ && ++lists_kept_ < kListsKept) {
    return;
  }
  lists_kept_ = 0;
  listed_ = files_.sockets();
  connections_.clear();
  if (queues_ == nullptr || listed_.empty()) {
    return;
  }
  for (const char* list : kSocketLists) {
    if (const auto text = ReadOnce(root_, "/proc/" + std::to_string(pid_) + list)) {
      const auto here = ParseConnections(*text, listed_);
      connections_.insert(connections_.end(), here.begin(), here.end());
    }
  }
}

void ProgramFiles::Look(double seconds, const WatchDevices& devices, WatchSample* sample) {
  if (pid_ == 0) {
    return;
  }
  const auto grown = files_.Grown();
  if (sample == nullptr) {
    return;
  }
  if (grown) {
    sample->recording_bytes_per_second = *grown / seconds;
  }
  sample->pc.writers_asleep_percent = writers_.AsleepPercent(files_);
  sample->recording_free_bytes = space_.Bytes();
  for (std::size_t i = 0; i < devices.disks.size(); ++i) {
    if (devices.disks[i].name == files_.disk()) {
      sample->recording_disk = i;
    }
  }
  const auto unsent = queues_ != nullptr ? queues_->Waiting(connections_) : std::nullopt;
  if (unsent) {
    sample->pc.unsent_bytes = static_cast<double>(*unsent);
  }
}

void ProgramFiles::LookSlowly(WatchSample& sample) {
  using Time = std::chrono::steady_clock;
  constexpr auto kLong = std::chrono::milliseconds(3);
  constexpr int kRest = 9;
  if (pid_ == 0 || queues_ != nullptr || files_.sockets().empty() || sockets_rest_-- > 0) {
    return;
  }
  const auto began = Time::now();
  std::optional<std::int64_t> unsent;
  for (const char* list : kSocketLists) {
    const auto text = ReadOnce(root_, "/proc/" + std::to_string(pid_) + list);
    if (const auto here = text ? ParseSendQueues(*text, files_.sockets()) : std::nullopt) {
      unsent = unsent.value_or(0) + *here;
    }
  }
  if (unsent) {
    sample.pc.unsent_bytes = static_cast<double>(*unsent);
  }
  sockets_rest_ = Time::now() - began > kLong ? kRest : 0;
}

}  // namespace probes
