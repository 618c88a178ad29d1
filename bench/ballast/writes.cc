// SPDX-License-Identifier: Apache-2.0
//
// Extra disk writes: files like those of the recordings.

#include <cstring>
#include <optional>
#include <random>
#include <utility>
#include <vector>

#include "bench/ballast/works.h"
#include "bench/disk/file.h"
#include "bench/disk/guard.h"

namespace bench {
namespace {

constexpr std::int64_t kBlockBytes = 256 << 10;
/// Then the space is given back and a new file begun.
constexpr std::int64_t kFileBytes = 256 << 20;
/// Room is looked at this often, and must be there for so much more.
constexpr std::int64_t kRoomEveryBytes = 32 << 20;

class WriteWork : public BallastWork {
 public:
  explicit WriteWork(std::filesystem::path folder)
      : folder_(std::move(folder)), block_(static_cast<std::size_t>(kBlockBytes)) {
    std::mt19937_64 random(0x2545F4914F6CDD1D);
    for (std::size_t at = 0; at < block_.size(); at += sizeof(std::uint64_t)) {
      const std::uint64_t word = random();
      std::memcpy(block_.data() + at, &word, sizeof(word));
    }
  }

  base::Status Begin() {
    if (auto room = CheckRoom(folder_, kFileBytes); !room) {
      return room;
    }
    auto file = RecordingFile::Open(folder_ / ".rigproof-ballast", false);
    if (!file) {
      return file.error();
    }
    file_.emplace(*std::move(file));
    offset_ = 0;
    return base::Done{};
  }

  base::Result<std::int64_t> DoOne() override {
    if (offset_ >= kFileBytes) {
      file_.reset();
      if (auto begun = Begin(); !begun) {
        return begun.error();
      }
    } else if (offset_ % kRoomEveryBytes == 0) {
      const auto room = ReadRoom(folder_);
      if (!room || room->usable_bytes() < kRoomEveryBytes) {
        return base::Error{base::ErrorKind::kIo, folder_.string(),
                           "the disk has no more room above what must stay free"};
      }
    }
    Renumber();
    if (auto written = file_->WriteAt(offset_, block_); !written) {
      return written.error();
    }
    offset_ += kBlockBytes;
    return kBlockBytes;
  }

 private:
  /// No two pages on the disk are alike.
  void Renumber() {
    for (std::size_t at = 0; at < block_.size(); at += kDirectAlignment) {
      ++pages_;
      std::memcpy(block_.data() + at, &pages_, sizeof(pages_));
    }
  }

  const std::filesystem::path folder_;
  std::vector<std::uint8_t> block_;
  std::optional<RecordingFile> file_;
  std::int64_t offset_ = 0;
  std::uint64_t pages_ = 0;
};

}  // namespace

BallastRecipe DiskBallast(const std::filesystem::path& folder) {
  BallastRecipe recipe;
  recipe.kind = LoadKind::kDisk;
  recipe.method =
      "files written beside the recordings, 256 KiB at a time, " + WritebackPolicyText();
  recipe.make = [folder](int /*index*/) -> base::Result<std::unique_ptr<BallastWork>> {
    auto work = std::make_unique<WriteWork>(folder);
    if (auto begun = work->Begin(); !begun) {
      return begun.error();
    }
    return std::unique_ptr<BallastWork>(std::move(work));
  };
  return recipe;
}

}  // namespace bench
