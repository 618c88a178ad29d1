#include "bench/costs/stages.h"

#include <set>
#include <utility>

#include "bench/content.h"
#include "bench/picture_scaler.h"

namespace bench::costs {

void RegisterStage(const std::string& stage, const std::string& detail,
                   std::function<base::Result<OneFrame>()> prepare) {
  static std::set<std::string> registered;
  const std::string name = stage + "/" + detail;
  if (!registered.insert(name).second) {
    return;
  }
  benchmark::RegisterBenchmark(name.c_str(),
                               [prepare = std::move(prepare)](benchmark::State& state) {
                                 const auto one_frame = prepare();
                                 if (!one_frame) {
                                   state.SkipWithError(one_frame.error().detail.c_str());
                                   return;
                                 }
                                 std::int64_t index = 0;
                                 for ([[maybe_unused]] auto unused : state) {
                                   if (const auto done = (*one_frame)(index); !done) {
                                     state.SkipWithError(done.error().detail.c_str());
                                     break;
                                   }
                                   ++index;
                                 }
                               })
      ->Unit(benchmark::kMillisecond)
      ->MeasureProcessCPUTime()
      ->UseRealTime();
}

base::Result<std::vector<base::FramePtr>> PaintedPictures(profiles::Content content,
                                                          const profiles::Raster& raster,
                                                          int count) {
  // The user's own clip has no painter; a talk stands in for it here.
  const profiles::Content painted =
      content == profiles::Content::kClip ? profiles::Content::kTalk : content;
  const Painter painter(painted, raster.width, raster.height, 1);
  std::vector<base::FramePtr> pictures;
  for (int i = 0; i < count; ++i) {
    auto picture = base::NewPicture(kWorkingFormat, raster.width, raster.height);
    if (!picture) {
      return picture.error();
    }
    painter.Paint(i, count, **picture);
    pictures.push_back(std::move(*picture));
  }
  return pictures;
}

}  // namespace bench::costs
