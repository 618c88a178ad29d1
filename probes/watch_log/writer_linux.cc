// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/writer.h"

#include <fcntl.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <cstring>
#include <deque>
#include <mutex>
#include <string_view>
#include <system_error>
#include <thread>
#include <utility>

#include "base/text.h"
#include "probes/watch_log/parts.h"

namespace probes {
namespace {

namespace fs = std::filesystem;
using Time = std::chrono::steady_clock;

constexpr auto kSyncEvery = std::chrono::seconds(10);
constexpr auto kLongestEnd = std::chrono::milliseconds(700);
constexpr std::size_t kMostWaiting = 300;  // chunks of a second; a stall of five minutes
constexpr std::int64_t kPartsOfALog = 16;  // a part is begun at half of that
constexpr std::int64_t kLargestPartBytes = std::int64_t{64} << 20U;
constexpr double kBlockSeconds = 0.999;

base::Error Failed(const fs::path& path, int error_number) {
  return {base::ErrorKind::kIo, path.string(),
          std::string("cannot be written: ") + std::strerror(error_number)};
}

/// Space that we may still take, with the guard kept.
std::optional<std::int64_t> RoomBytes(const fs::path& folder, std::int64_t guard_bytes) {
  struct statvfs space {};
  if (statvfs(folder.c_str(), &space) != 0) {
    return std::nullopt;
  }
  constexpr std::int64_t kSmallShare = 20;
  const auto block = static_cast<std::int64_t>(space.f_frsize);
  const std::int64_t all = static_cast<std::int64_t>(space.f_blocks) * block;
  const std::int64_t guard = std::min(guard_bytes, all / kSmallShare);
  return static_cast<std::int64_t>(space.f_bavail) * block - guard;
}

/// Renames, new files and removals reach the disk with their folder.
void SyncFolder(const fs::path& folder) {
  const int fd = open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd >= 0) {
    fsync(fd);
    close(fd);
  }
}

}  // namespace

/// What the thread owns; it lives as long as either side does.
struct WatchLogWriter::File {
  struct Chunk {
    std::string bytes;
    int part = 0;
  };

  File(fs::path to, const WatchLogLimits& with) : folder(std::move(to)), limits(with) {}
  ~File() { Close(); }
  File(const File&) = delete;
  File& operator=(const File&) = delete;

  void Run();
  std::optional<base::Error> Write(const Chunk& chunk);
  std::optional<base::Error> OpenPart(int number);
  void DropOldest(std::int64_t room_for_bytes);
  void Close();

  const fs::path folder;
  const WatchLogLimits limits;

  // The thread's.
  int fd = -1;
  int part = 0;
  fs::path path;
  bool unsynced = false;

  mutable std::mutex mutex;
  std::condition_variable changed;
  std::deque<Chunk> waiting;
  bool closing = false;
  bool done = false;
  std::int64_t written = 0;
  std::optional<base::Error> failure;
  std::thread thread;  // last: it uses all others
};

void WatchLogWriter::File::Close() {
  if (fd >= 0) {
    close(fd);
    fd = -1;
  }
}

void WatchLogWriter::File::DropOldest(std::int64_t room_for_bytes) {
  std::vector<WatchPart> parts = ListWatchParts(folder);
  std::int64_t bytes = room_for_bytes;
  for (const WatchPart& each : parts) {
    bytes += each.bytes;
  }
  for (auto oldest = parts.begin(); bytes > limits.most_bytes && oldest != parts.end(); ++oldest) {
    std::error_code error;
    fs::remove(oldest->path, error);
    bytes -= oldest->bytes;
  }
}

std::optional<base::Error> WatchLogWriter::File::OpenPart(int number) {
  if (fd >= 0) {
    fdatasync(fd);
    Close();
  }
  DropOldest(limits.most_bytes / kPartsOfALog);
  part = number;
  path = folder / WatchPartName(number);
  constexpr mode_t kMode = 0666;
  fd = open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_APPEND | O_CLOEXEC, kMode);
  if (fd < 0) {
    return Failed(path, errno);
  }
  SyncFolder(folder);
  return std::nullopt;
}

std::optional<base::Error> WatchLogWriter::File::Write(const Chunk& chunk) {
  const auto room = RoomBytes(folder, limits.guard_bytes);
  if (room && *room < static_cast<std::int64_t>(chunk.bytes.size())) {
    return base::Error{base::ErrorKind::kIo, "disk guard",
                       "the log's disk has too little room left (" +
                           base::FormatBytes(static_cast<double>(limits.guard_bytes)) +
                           " stay free): nothing more is written"};
  }
  if (chunk.part != part) {
    if (auto error = OpenPart(chunk.part)) {
      return error;
    }
  }
  std::string_view rest = chunk.bytes;
  while (!rest.empty()) {
    const ssize_t wrote = write(fd, rest.data(), rest.size());
    if (wrote < 0 && errno == EINTR) {
      continue;
    }
    if (wrote <= 0) {
      return Failed(path, errno);
    }
    rest.remove_prefix(static_cast<std::size_t>(wrote));
  }
  unsynced = true;
  return std::nullopt;
}

void WatchLogWriter::File::Run() {
  Time::time_point synced = Time::now();
  std::unique_lock lock(mutex);
  while (true) {
    changed.wait(lock, [this] { return closing || !waiting.empty(); });
    if (waiting.empty()) {
      break;
    }
    const Chunk chunk = std::move(waiting.front());
    waiting.pop_front();
    const bool failed = failure.has_value();
    lock.unlock();
    auto error = failed ? std::nullopt : Write(chunk);
    if (unsynced && Time::now() - synced >= kSyncEvery) {
      fdatasync(fd);
      unsynced = false;
      synced = Time::now();
    }
    lock.lock();
    if (error) {
      failure = std::move(error);
    } else if (!failed) {
      written += static_cast<std::int64_t>(chunk.bytes.size());
    }
  }
  lock.unlock();
  if (unsynced) {
    fdatasync(fd);
  }
  Close();
  lock.lock();
  done = true;
  changed.notify_all();
}

base::Result<std::unique_ptr<WatchLogWriter>> WatchLogWriter::Create(const fs::path& folder,
                                                                     const WatchHead& head,
                                                                     const WatchLogLimits& limits) {
  const auto refuse = [&folder](const std::string& why) {
    return base::Error{base::ErrorKind::kInvalid, folder.string(),
                       why + "; allowed for --into: a new folder, or an empty one"};
  };
  std::error_code error;
  if (fs::exists(folder, error) && !fs::is_directory(folder, error)) {
    return refuse("is there and no folder");
  }
  fs::create_directories(folder, error);
  if (error) {
    return refuse("cannot be made: " + error.message());
  }
  if (!fs::is_empty(folder, error) && !error) {
    return refuse("holds files, and a log is never written over or gone on with");
  }
  if (error) {
    return refuse("cannot be read: " + error.message());
  }
  auto file = std::make_shared<File>(folder, limits);
  const auto room = RoomBytes(folder, limits.guard_bytes);
  if (room && *room <= 0) {
    return refuse("is on a disk with too little room left");
  }
  // Now, so that a folder that cannot be written is told at once.
  if (auto failed = file->OpenPart(1)) {
    return base::Error{base::ErrorKind::kInvalid, failed->where,
                       failed->detail + "; allowed for --into: a folder that can be written"};
  }
  std::unique_ptr<WatchLogWriter> writer(new WatchLogWriter(file, head, limits));
  file->thread = std::thread([file] { file->Run(); });
  writer->Flush();
  return writer;
}

WatchLogWriter::WatchLogWriter(std::shared_ptr<File> file, const WatchHead& head,
                               const WatchLogLimits& limits)
    : file_(std::move(file)),
      head_(head),
      part_limit_bytes_(std::min(limits.most_bytes / (2 * kPartsOfALog), kLargestPartBytes)) {
  BeginPart();
}

void WatchLogWriter::Close() {
  std::unique_lock lock(file_->mutex);
  file_->closing = true;
  file_->changed.notify_all();
  file_->changed.wait_for(lock, kLongestEnd, [this] { return file_->done; });
  const bool done = file_->done;
  lock.unlock();
  if (!file_->thread.joinable()) {
    return;
  }
  if (done) {
    file_->thread.join();
  } else {
    file_->thread.detach();  // it waits for the disk, with all that it needs
  }
}

WatchLogWriter::~WatchLogWriter() {
  Close();
}

void WatchLogWriter::BeginPart() {
  ++part_;
  part_due_ = false;
  std::string first;
  encoder_.Begin(head_, part_, first);
  for (const std::string& text : not_read_) {
    WatchEncoder::NotRead(text, first);
  }
  if (program_) {
    WatchEncoder::Program(*program_, first);
  }
  if (kernel_lines_) {
    WatchEncoder::KernelLines(*kernel_lines_, first);
  }
  part_bytes_ = 0;
  pending_.insert(0, first);
}

void WatchLogWriter::Hand(std::string bytes) {
  part_bytes_ += static_cast<std::int64_t>(bytes.size());
  const std::lock_guard lock(file_->mutex);
  if (file_->waiting.size() >= kMostWaiting) {
    // Names may be lost with it: what follows begins anew.
    ++seconds_lost_;
    part_due_ = true;
    return;
  }
  file_->waiting.push_back({std::move(bytes), part_});
  file_->changed.notify_all();
}

void WatchLogWriter::Flush() {
  // Names are told in the part that uses them: a new part begins before the second is encoded.
  if (part_due_ || encoder_.Full() || part_bytes_ >= part_limit_bytes_) {
    BeginPart();
  }
  for (const WatchProcesses& look : std::exchange(looks_, {})) {
    encoder_.Processes(look, pending_);
  }
  if (!second_.empty()) {
    encoder_.Samples(second_, devices_, pending_);
    second_.clear();
  }
  if (!pending_.empty()) {
    Hand(std::exchange(pending_, {}));
  }
}

void WatchLogWriter::Add(const WatchSample& sample, const WatchDevices& devices) {
  if (devices.disks.size() != devices_.disks.size() ||
      devices.links.size() != devices_.links.size() ||
      devices.engines.size() != devices_.engines.size()) {
    devices_ = devices;  // they only become more
  }
  second_.push_back(sample);
  if (second_.size() >= kMostSamplesInBlock ||
      sample.pc.at_s - second_.front().pc.at_s + second_.front().seconds >= kBlockSeconds) {
    Flush();
  }
}

void WatchLogWriter::Add(const WatchProcesses& processes) {
  looks_.push_back(processes);
}

void WatchLogWriter::Add(const WatchProgram& program) {
  program_ = program;
  WatchEncoder::Program(program, pending_);
}

void WatchLogWriter::Add(const KernelLogLine& line) {
  WatchEncoder::KernelLine(line, pending_);
}

void WatchLogWriter::AddKernelLines(const base::Reading<std::int64_t>& lines) {
  kernel_lines_ = lines;
  WatchEncoder::KernelLines(lines, pending_);
}

void WatchLogWriter::AddNotRead(const std::string& text) {
  not_read_.push_back(text);
  WatchEncoder::NotRead(text, pending_);
}

void WatchLogWriter::Finish(double at_s, const std::string& why) {
  Flush();
  WatchEncoder::End(at_s, why, pending_);
  Flush();
  Close();
}

std::optional<base::Error> WatchLogWriter::Failure() const {
  const std::lock_guard lock(file_->mutex);
  return file_->failure;
}

std::int64_t WatchLogWriter::bytes_written() const {
  const std::lock_guard lock(file_->mutex);
  return file_->written;
}

std::size_t WatchLogWriter::waiting() const {
  const std::lock_guard lock(file_->mutex);
  return file_->waiting.size();
}

}  // namespace probes
