// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/compose.h"

#include <algorithm>
#include <cmath>
#include <cstring>

namespace bench {
namespace {

int Even(int value) {
  return value & ~1;
}

}  // namespace

void PaintBlack(AVFrame& picture) {
  for (int plane = 0; plane < 3; ++plane) {
    const int lines = plane == 0 ? picture.height : (picture.height + 1) / 2;
    const int value = plane == 0 ? 16 : 128;
    for (int line = 0; line < lines; ++line) {
      std::memset(picture.data[plane] + static_cast<std::ptrdiff_t>(line) * picture.linesize[plane],
                  value, static_cast<std::size_t>(picture.linesize[plane]));
    }
  }
}

base::Status ProgramComposer::Compose(std::span<const base::FramePtr> pictures, double at_seconds,
                                      AVFrame& onto) {
  const auto cut = static_cast<std::size_t>(at_seconds / kSecondsOnAir);
  const std::size_t on_air = cut % pictures.size();
  const std::size_t inset = (on_air + 1) % pictures.size();
  const Area whole{0, 0, onto.width, onto.height};
  if (!pictures[on_air]) {
    PaintBlack(onto);
  } else if (auto drawn = scalers_[on_air * 2].Draw(*pictures[on_air], onto, whole); !drawn) {
    return drawn;
  }
  if (inset == on_air || !pictures[inset]) {
    return base::Done{};
  }
  const int width = Even(onto.width / 4);
  const int height = Even(onto.height / 4);
  const Area corner{Even(onto.width - width - onto.width / 32),
                    Even(onto.height - height - onto.height / 32), width, height};
  return scalers_[inset * 2 + 1].Draw(*pictures[inset], onto, corner);
}

std::vector<Area> MultiviewTiles(int tiles, int width, int height) {
  const int columns = static_cast<int>(std::ceil(std::sqrt(static_cast<double>(tiles))));
  const int rows = (tiles + columns - 1) / columns;
  const int tile_width = Even(width / columns);
  const int tile_height = Even(height / rows);
  std::vector<Area> areas;
  areas.reserve(static_cast<std::size_t>(std::max(tiles, 0)));
  for (int tile = 0; tile < tiles; ++tile) {
    areas.push_back(
        {tile % columns * tile_width, tile / columns * tile_height, tile_width, tile_height});
  }
  return areas;
}

MultiviewComposer::MultiviewComposer(std::size_t tiles, int width, int height)
    : areas_(MultiviewTiles(static_cast<int>(tiles), width, height)), scalers_(tiles) {}

base::Status MultiviewComposer::Compose(std::span<const base::FramePtr> pictures, AVFrame& onto) {
  for (std::size_t tile = 0; tile < areas_.size() && tile < pictures.size(); ++tile) {
    if (pictures[tile]) {
      if (auto drawn = scalers_[tile].Draw(*pictures[tile], onto, areas_[tile]); !drawn) {
        return drawn;
      }
    }
  }
  return base::Done{};
}

}  // namespace bench
