#include "probes/picture_content.h"

#include <algorithm>
#include <cstdlib>
#include <vector>

namespace probes {
namespace {

constexpr int kBlock = 16;
constexpr std::size_t kNoisePictures = 25;

int SampleAt(const LumaPlane& plane, const std::uint8_t* row, int x) {
  const std::uint8_t* at = row + static_cast<std::ptrdiff_t>(x) * plane.step;
  if (plane.depth <= 8 && plane.shift == 0) {
    return *at;
  }
  return (at[0] | at[1] << 8) >> plane.shift;
}

std::int64_t BlockDifference(const LumaPlane& left, const LumaPlane& right, int x, int y) {
  const int to_x = std::min(x + kBlock, left.width);
  const int to_y = std::min(y + kBlock, left.height);
  std::int64_t sum = 0;
  for (int row = y; row < to_y; ++row) {
    const std::uint8_t* left_row = left.data + row * left.stride;
    const std::uint8_t* right_row = right.data + row * right.stride;
    if (left.step == 1 && left.depth == 8) {
      int row_sum = 0;
      for (int i = x; i < to_x; ++i) {
        row_sum += std::abs(left_row[i] - right_row[i]);
      }
      sum += row_sum;
      continue;
    }
    for (int i = x; i < to_x; ++i) {
      sum += std::abs(SampleAt(left, left_row, i) - SampleAt(right, right_row, i));
    }
  }
  return sum;
}

}  // namespace

std::optional<PictureDifference> DifferenceOf(const LumaPlane& left, const LumaPlane& right) {
  if (left.width != right.width || left.height != right.height || left.depth != right.depth ||
      left.step != right.step || left.shift != right.shift || left.width <= 0 || left.height <= 0) {
    return std::nullopt;
  }
  const double code = static_cast<double>((1 << left.depth) - 1) / 255;
  std::vector<double> means;
  for (int y = 0; y < left.height; y += kBlock) {
    for (int x = 0; x < left.width; x += kBlock) {
      const int samples = std::min(kBlock, left.width - x) * std::min(kBlock, left.height - y);
      means.push_back(static_cast<double>(BlockDifference(left, right, x, y)) /
                      (code * static_cast<double>(samples)));
    }
  }
  const auto quarter = means.begin() + static_cast<std::ptrdiff_t>(means.size() / 4);
  std::nth_element(means.begin(), quarter, means.end());
  return PictureDifference{*std::max_element(means.begin(), means.end()), *quarter};
}

bool StillWatch::Same(const PictureDifference& difference) {
  double noise = 0;
  if (!noise_.empty()) {
    std::vector<double> sorted = noise_;
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
    std::nth_element(sorted.begin(), middle, sorted.end());
    noise = *middle;
  }
  if (difference.most <= std::max(kSamePictureMostCodes, kSameNoiseShare * noise)) {
    return true;
  }
  if (noise_.size() < kNoisePictures) {
    noise_.push_back(difference.quarter);
  } else {
    noise_[oldest_] = difference.quarter;
    oldest_ = (oldest_ + 1) % kNoisePictures;
  }
  return false;
}

void StillWatch::Add(double at_s, const std::optional<PictureDifference>& difference,
                     bool damaged) {
  const bool same = difference && content_.decoded > 0 && Same(*difference);
  if (content_.decoded > 0 && at_s > last_s_ && at_s - last_s_ < kFrozenLeastSeconds) {
    period_s_ = at_s - last_s_;
  }
  if (same) {
    if (!open_) {
      open_ = StillStretch{at_s, 0, 0};
    }
    ++open_->pictures;
  } else if (open_) {
    EndStretch(at_s);
  }
  ++content_.decoded;
  content_.damaged += damaged ? 1 : 0;
  last_s_ = at_s;
}

void StillWatch::EndStretch(double end_s) {
  open_->length_s = std::max(0.0, end_s - open_->at_s);
  (open_->length_s >= kFrozenLeastSeconds ? content_.frozen : content_.repeated) += open_->pictures;
  ++content_.stretch_count;
  if (content_.stretches.size() < kMostGaps) {
    content_.stretches.push_back(*open_);
  }
  open_.reset();
}

PictureContent StillWatch::Finish(double zero_s) {
  if (open_) {
    EndStretch(last_s_ + period_s_);
  }
  for (StillStretch& stretch : content_.stretches) {
    stretch.at_s -= zero_s;
  }
  return content_;
}

}  // namespace probes
