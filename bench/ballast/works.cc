// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/works.h"

#include <algorithm>
#include <cstring>
#include <new>
#include <optional>
#include <random>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/media/video_encoder.h"
#include "base/text.h"
#include "bench/disk/file.h"
#include "bench/disk/guard.h"
#include "bench/feeds/content.h"
#include "bench/plan/encoder_options.h"

namespace bench {

// Extra CPU load: real encodes of small pictures.

namespace {

constexpr int kWidth = 640;
constexpr int kHeight = 360;
constexpr int kPictures = 24;
constexpr std::int64_t kFewestBits = 100'000;

/// Painted once, read by all threads.
using Pictures = std::vector<base::FramePtr>;

base::Result<std::shared_ptr<const Pictures>> Paint(profiles::Content content) {
  const Painter painter(content, kWidth, kHeight, 1);
  auto pictures = std::make_shared<Pictures>();
  for (int i = 0; i < kPictures; ++i) {
    auto picture = base::NewPicture(AV_PIX_FMT_YUV420P, kWidth, kHeight);
    if (!picture) {
      return picture.error();
    }
    painter.Paint(i, kPictures, **picture);
    pictures->push_back(std::move(*picture));
  }
  return std::shared_ptr<const Pictures>(std::move(pictures));
}

class EncodeWork : public BallastWork {
 public:
  EncodeWork(base::VideoEncoder encoder, std::shared_ptr<const Pictures> pictures)
      : encoder_(std::move(encoder)), pictures_(std::move(pictures)), packet_(base::NewPacket()) {}

  EncodeWork(const EncodeWork&) = delete;
  EncodeWork& operator=(const EncodeWork&) = delete;
  /// Some libraries complain of an encoder that is closed and was never told of its end.
  ~EncodeWork() override { static_cast<void>(encoder_.Drain()); }

  base::Result<std::int64_t> DoOne() override {
    const auto at = static_cast<std::size_t>(count_ % kPictures);
    if (auto sent = encoder_.Send(*(*pictures_)[at], count_++); !sent) {
      return sent.error();
    }
    for (;;) {
      const auto got = encoder_.Receive(*packet_);
      if (!got) {
        return got.error();
      }
      if (!*got) {
        return std::int64_t{0};
      }
      av_packet_unref(packet_.get());
    }
  }

 private:
  base::VideoEncoder encoder_;
  std::shared_ptr<const Pictures> pictures_;
  base::PacketPtr packet_;
  std::int64_t count_ = 0;
};

/// On the calling thread alone, as far as the library can.
void KeepToOneThread(base::VideoEncoderSettings& settings) {
  settings.threads = 1;
  for (auto& [name, value] : settings.options) {
    if (name == "x265-params") {
      value += ":pools=none:frame-threads=1";
    }
  }
  if (settings.encoder == "libsvtav1") {
    settings.options.emplace_back("svtav1-params", "lp=1");
  }
}

base::VideoEncoderSettings LikeTheOutputs(const RehearsalPlan& plan) {
  base::VideoEncoderSettings settings;
  settings.width = kWidth;
  settings.height = kHeight;
  settings.encoder = SoftwareEncoder("h264");
  settings.bits_per_second = 1'000'000;
  settings.options = EncoderOptions(settings.encoder, profiles::Effort::kLow);
  const auto software =
      std::find_if(plan.outputs.begin(), plan.outputs.end(), [](const OutputPlan& output) {
        return output.encoder == SoftwareEncoder(output.output.codec);
      });
  if (software != plan.outputs.end()) {
    const double pixels =
        static_cast<double>(std::max<std::int64_t>(software->output.raster.Pixels(), 1));
    settings.encoder = software->encoder;
    settings.options = software->encoder_options;
    settings.rate = software->output.rate;
    settings.bits_per_second = std::max(
        kFewestBits, static_cast<std::int64_t>(static_cast<double>(software->output.bitrate_kbps) *
                                               1000 * kWidth * kHeight / pixels));
  }
  KeepToOneThread(settings);
  return settings;
}

std::string OptionText(const base::VideoEncoderSettings& settings) {
  std::string text = settings.encoder;
  for (const auto& [name, value] : settings.options) {
    text.append(" ").append(name).append("=").append(value);
  }
  return text;
}

profiles::Content ContentOf(const profiles::Profile& profile) {
  const auto content =
      profile.sources.empty() ? profiles::Content::kTalk : profile.sources.front().content;
  return content == profiles::Content::kClip ? profiles::Content::kTalk : content;
}

}  // namespace

BallastRecipe CpuBallast(const RehearsalPlan& plan, int threads) {
  const base::VideoEncoderSettings settings = LikeTheOutputs(plan);
  const auto pictures = Paint(ContentOf(plan.profile));
  BallastRecipe recipe;
  recipe.kind = LoadKind::kCpu;
  recipe.threads = threads;
  recipe.method = fmt::format("encodes of {}x{} pictures with {}, {} at a time", kWidth, kHeight,
                              OptionText(settings), threads);
  recipe.make = [settings, pictures](int /*index*/) -> base::Result<std::unique_ptr<BallastWork>> {
    if (!pictures) {
      return pictures.error();
    }
    auto encoder = base::VideoEncoder::Open(settings);
    if (!encoder) {
      return encoder.error();
    }
    return std::unique_ptr<BallastWork>(
        std::make_unique<EncodeWork>(std::move(*encoder), *pictures));
  };
  return recipe;
}

// Extra memory traffic: copies through buffers that no cache holds.

namespace {

constexpr std::int64_t kChunkBytes = 4 << 20;

class CopyWork : public BallastWork {
 public:
  /// `bytes`: two halves of whole chunks.
  explicit CopyWork(std::int64_t bytes)
      : chunks_(bytes / 2 / kChunkBytes),
        data_(std::make_unique_for_overwrite<std::uint8_t[]>(static_cast<std::size_t>(bytes))) {
    // Touched: pages of its own, not one page of zeros many times.
    std::memset(data_.get(), 1, static_cast<std::size_t>(bytes));
  }

  base::Result<std::int64_t> DoOne() override {
    const std::int64_t at = count_ % chunks_;
    const bool back = count_ / chunks_ % 2 == 1;
    std::uint8_t* const low = data_.get() + at * kChunkBytes;
    std::uint8_t* const high = low + chunks_ * kChunkBytes;
    std::memcpy(back ? low : high, back ? high : low, kChunkBytes);
    ++count_;
    return 2 * kChunkBytes;
  }

 private:
  const std::int64_t chunks_;
  std::unique_ptr<std::uint8_t[]> data_;
  std::int64_t count_ = 0;
};

}  // namespace

BallastRecipe MemoryBallast(std::int64_t buffer_bytes, int threads) {
  const std::int64_t pairs = std::max<std::int64_t>(1, buffer_bytes / threads / (2 * kChunkBytes));
  const std::int64_t each = pairs * 2 * kChunkBytes;
  BallastRecipe recipe;
  recipe.kind = LoadKind::kMemory;
  recipe.threads = threads;
  recipe.method = fmt::format("copies through {} of memory, {} at a time",
                              base::FormatBytes(static_cast<double>(each * threads)), threads);
  recipe.make = [each](int /*index*/) -> base::Result<std::unique_ptr<BallastWork>> {
    try {
      return std::unique_ptr<BallastWork>(std::make_unique<CopyWork>(each));
    } catch (const std::bad_alloc&) {
      return base::Error{base::ErrorKind::kIo, "extra load on memory",
                         "there is not enough memory"};
    }
  };
  return recipe;
}

// Extra disk writes: files like those of the recordings.

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
