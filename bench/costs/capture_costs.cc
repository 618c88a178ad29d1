// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <memory>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "bench/costs/stages.h"
#include "bench/feeds/feed_ring.h"
#include "bench/pipeline/ingest.h"
#include "bench/stages/picture_pool.h"
#include "bench/stages/picture_scaler.h"
#include "profiles/pixel_formats.h"

namespace bench::costs {
namespace {

// Larger than the last-level caches of today, so that copies come from memory.
constexpr std::int64_t kCacheBytes = 64LL << 20;

base::Result<std::shared_ptr<FeedRing>> MakeRing(const profiles::Source& source) {
  const auto painters = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  auto ring = MakeFeedRing(source, "", RingFrames(source, kCacheBytes), 1, {}, painters);
  if (!ring) {
    return ring.error();
  }
  if (ring->size() == 0) {
    return base::Error{base::ErrorKind::kInvalid, source.name, "no pictures could be made"};
  }
  return std::make_shared<FeedRing>(std::move(*ring));
}

const AVFrame& PictureAt(const FeedRing& ring, std::int64_t index) {
  return *ring.pictures[static_cast<std::size_t>(index) % ring.pictures.size()];
}

base::Result<OneFrame> PrepareCopy(const profiles::Source& source) {
  const auto ring = MakeRing(source);
  if (!ring) {
    return ring.error();
  }
  const AVFrame& first = PictureAt(**ring, 0);
  auto pool = std::make_shared<PicturePool>(static_cast<AVPixelFormat>(first.format), first.width,
                                            first.height);
  return OneFrame([ring = *ring, pool](std::int64_t index) -> base::Status {
    auto copy = pool->Get();
    if (!copy) {
      return copy.error();
    }
    const int code = av_frame_copy(copy->get(), &PictureAt(*ring, index));
    return code < 0 ? base::Status(base::FromFfmpeg(code, "copy")) : base::Done{};
  });
}

base::Result<OneFrame> PrepareConvert(const profiles::Source& source) {
  const auto ring = MakeRing(source);
  if (!ring) {
    return ring.error();
  }
  auto pool =
      std::make_shared<PicturePool>(kWorkingFormat, source.raster.width, source.raster.height);
  auto scaler = std::make_shared<PictureScaler>();
  return OneFrame([ring = *ring, pool, scaler](std::int64_t index) -> base::Status {
    auto onto = pool->Get();
    if (!onto) {
      return onto.error();
    }
    return scaler->Draw(PictureAt(*ring, index), **onto, {0, 0, (*onto)->width, (*onto)->height});
  });
}

base::Result<OneFrame> PrepareDecode(const profiles::Source& source) {
  const auto ring = MakeRing(source);
  if (!ring) {
    return ring.error();
  }
  auto ingest = Ingest::Open(source, (*ring)->packet_codec, PlanSource(source, {}));
  if (!ingest) {
    return ingest.error();
  }
  auto chain = std::make_shared<Ingest>(std::move(*ingest));
  return OneFrame([ring = *ring, chain](std::int64_t index) {
    CaptureItem item;
    item.packet =
        base::Share(*ring->packets[static_cast<std::size_t>(index) % ring->packets.size()]);
    item.index = index;
    return chain->Take(item, [](const base::FramePtr&, std::int64_t) {});
  });
}

}  // namespace

void RegisterCapture(const profiles::Profile& profile) {
  for (const profiles::Source& source : profile.sources) {
    const std::string& form = source.pixel_format.empty() ? source.codec : source.pixel_format;
    const CostSubject of{source.raster.width, source.raster.height, form};
    const std::string detail = fmt::format("{} {}", profiles::ToText(source.raster), form);
    if (profiles::ComesInPackets(source)) {
      RegisterStage(Stage::kDecode, detail, of, [source] { return PrepareDecode(source); });
      continue;
    }
    RegisterStage(Stage::kCopy, detail, of, [source] { return PrepareCopy(source); });
    RegisterStage(Stage::kConvert, detail, of, [source] { return PrepareConvert(source); });
  }
}

}  // namespace bench::costs
