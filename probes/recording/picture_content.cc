// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/picture_content.h"

#include <algorithm>
#include <cstdlib>
#include <vector>

namespace probes {
namespace {

constexpr int kBlock = 16;
constexpr std::size_t kNewPictures = 15;

int SampleAt(const LumaPlane& plane, const std::uint8_t* row, int x) {
  const std::uint8_t* at = row + static_cast<std::ptrdiff_t>(x) * plane.step;
  if (plane.depth <= 8 && plane.shift == 0) {
    return *at;
  }
  return (at[0] | at[1] << 8) >> plane.shift;
}

double MedianOf(const std::vector<PictureDifference>& all, double PictureDifference::*figure) {
  if (all.empty()) {
    return 0;
  }
  std::vector<double> figures;
  figures.reserve(all.size());
  for (const PictureDifference& one : all) {
    figures.push_back(one.*figure);
  }
  const auto middle = figures.begin() + static_cast<std::ptrdiff_t>(figures.size() / 2);
  std::nth_element(figures.begin(), middle, figures.end());
  return *middle;
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
  double sum = 0;
  for (const double mean : means) {
    sum += mean;
  }
  return PictureDifference{*std::max_element(means.begin(), means.end()), *quarter,
                           sum / static_cast<double>(means.size())};
}

bool StillWatch::Same(const PictureDifference& difference) {
  const double noise = MedianOf(new_, &PictureDifference::quarter);
  const double change = MedianOf(new_, &PictureDifference::mean);
  const double most = MedianOf(new_, &PictureDifference::most);
  const bool below_noise =
      difference.most <= std::max(kSamePictureMostCodes, kSameNoiseShare * noise);
  const bool below_change = new_.size() == kNewPictures &&
                            difference.mean <= kSameChangeShare * change &&
                            difference.most <= most / 2;
  if (below_noise || below_change) {
    return true;
  }
  if (new_.size() < kNewPictures) {
    new_.push_back(difference);
  } else {
    new_[oldest_] = difference;
    oldest_ = (oldest_ + 1) % kNewPictures;
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
