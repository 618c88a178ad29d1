// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/arrivals.h"

namespace bench {

void Arrivals::Due(std::int64_t index) {
  const std::scoped_lock lock(mutex_);
  under_way_.emplace(index, false);
}

void Arrivals::Received(std::int64_t index) {
  const std::scoped_lock lock(mutex_);
  const auto found = under_way_.find(index);
  if (found != under_way_.end()) {
    found->second = true;
  }
}

bool Arrivals::GiveUp(std::int64_t index) {
  const std::scoped_lock lock(mutex_);
  return under_way_.erase(index) > 0;
}

std::optional<std::vector<Arrivals::Lost>> Arrivals::CameOut(std::int64_t index) {
  const std::scoped_lock lock(mutex_);
  const auto found = under_way_.find(index);
  if (found == under_way_.end()) {
    return std::nullopt;
  }
  std::vector<Lost> lost;
  for (auto before = under_way_.begin(); before != found; before = under_way_.erase(before)) {
    lost.push_back({before->first, before->second});
  }
  under_way_.erase(found);
  return lost;
}

std::vector<Arrivals::Lost> Arrivals::TakeRest() {
  const std::scoped_lock lock(mutex_);
  std::vector<Lost> lost;
  for (const auto& [index, received] : under_way_) {
    lost.push_back({index, received});
  }
  under_way_.clear();
  return lost;
}

}  // namespace bench
