// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/rehearsals.h"

#include <utility>

#include "base/text.h"
#include "cli/runs/evidence.h"

namespace cli {
namespace {

constexpr std::size_t kMostPhases = 200;
constexpr std::size_t kMostMessages = 50;

bool GoesOn(RehearsalStage stage) {
  return stage == RehearsalStage::kRunning || stage == RehearsalStage::kStopping;
}

}  // namespace

Rehearsals::~Rehearsals() {
  Stop();
}

base::Status Rehearsals::Start(RehearsalOrder order) {
  std::jthread ended;
  const std::lock_guard lock(mutex_);
  if (GoesOn(state_.stage)) {
    return base::Error{base::ErrorKind::kDenied, state_.order.profile,
                       "is being rehearsed; allowed: one rehearsal at a time"};
  }
  // The thread before has told its end and touches nothing more.
  ended = std::exchange(attendant_, {});
  attendant_ =
      std::jthread([this, argv = order.argv](const std::stop_token& stop) { Attend(stop, argv); });
  state_ = RehearsalState{};
  state_.stage = RehearsalStage::kRunning;
  state_.order = std::move(order);
  state_.began_at = UtcNow();
  return base::Done{};
}

void Rehearsals::Attend(const std::stop_token& stop, const std::vector<std::string>& argv) {
  const auto end = base::RunAttended({argv}, stop, [this](std::string_view line) { Hear(line); });
  const std::lock_guard lock(mutex_);
  state_.stage = RehearsalStage::kEnded;
  if (end) {
    state_.end = *end;
  } else {
    Say(end.error().where + ": " + end.error().detail);
  }
}

void Rehearsals::Hear(std::string_view line) {
  auto record = ParseProgressRecord(line);
  const std::lock_guard lock(mutex_);
  if (!record) {
    Say(line);
    return;
  }
  const bool same = !state_.phases.empty() && !state_.phases.back().done &&
                    state_.phases.back().phase == record->phase;
  if (same) {
    state_.phases.back() = *std::move(record);
  } else if (state_.phases.size() < kMostPhases) {
    state_.phases.push_back(*std::move(record));
  }
}

void Rehearsals::Say(std::string_view message) {
  if (state_.messages.size() == kMostMessages) {
    state_.messages.pop_back();
  }
  state_.messages.push_back(base::Printable(message, 2000));
}

bool Rehearsals::Stop() {
  const std::lock_guard lock(mutex_);
  if (!GoesOn(state_.stage)) {
    return false;
  }
  state_.stage = RehearsalStage::kStopping;
  state_.stopped = true;
  attendant_.request_stop();  // false the second time
  return true;
}

bool Rehearsals::Running() const {
  const std::lock_guard lock(mutex_);
  return GoesOn(state_.stage);
}

RehearsalState Rehearsals::State() const {
  const std::lock_guard lock(mutex_);
  return state_;
}

}  // namespace cli
