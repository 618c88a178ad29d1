// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/verdict.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace bench {
namespace {

/// Frames on their way: due and neither here nor lost.
double InFlight(const Ledger::Totals& totals) {
  return static_cast<double>(totals.due - totals.delivered - totals.dropped);
}

bool MoreLateThanPlain(const HeldOutput& output, double plain_share) {
  // Three deviations of a Poisson count above its mean, and never on two frames alone.
  constexpr double kFewest = 3;
  const double expected = plain_share * static_cast<double>(output.delivered);
  return static_cast<double>(output.late) > std::max(kFewest, expected + 3 * std::sqrt(expected));
}

}  // namespace

void HoldAccount::Look(const std::vector<Ledger::Totals>& totals) {
  looks_.push_back(totals);
}

std::vector<HeldOutput> HoldAccount::Outputs() const {
  std::vector<HeldOutput> outputs;
  if (looks_.empty()) {
    return outputs;
  }
  const std::size_t third = std::max<std::size_t>(looks_.size() / 3, 1);
  for (std::size_t i = 0; i < looks_.front().size(); ++i) {
    const Ledger::Totals& first = looks_.front()[i];
    const Ledger::Totals& last = looks_.back()[i];
    HeldOutput held;
    held.delivered = last.delivered - first.delivered;
    held.dropped = last.dropped - first.dropped;
    held.late = last.late - first.late;
    for (std::size_t look = 0; look < third; ++look) {
      held.backlog_begun += InFlight(looks_[look][i]) / static_cast<double>(third);
      held.backlog_ended +=
          InFlight(looks_[looks_.size() - 1 - look][i]) / static_cast<double>(third);
    }
    outputs.push_back(held);
  }
  return outputs;
}

std::int64_t HoldAccount::dropped() const {
  std::int64_t frames = 0;
  for (const HeldOutput& output : Outputs()) {
    frames += output.dropped;
  }
  return frames;
}

std::int64_t HoldAccount::late() const {
  std::int64_t frames = 0;
  for (const HeldOutput& output : Outputs()) {
    frames += output.late;
  }
  return frames;
}

std::vector<double> LateShares(const std::vector<HeldOutput>& outputs) {
  std::vector<double> shares;
  shares.reserve(outputs.size());
  for (const HeldOutput& output : outputs) {
    shares.push_back(output.delivered > 0
                         ? static_cast<double>(output.late) / static_cast<double>(output.delivered)
                         : 0);
  }
  return shares;
}

bool Carried(const std::vector<HeldOutput>& outputs, const std::vector<double>& plain_late_shares) {
  for (std::size_t i = 0; i < outputs.size(); ++i) {
    const double plain = i < plain_late_shares.size() ? plain_late_shares[i] : 0;
    const bool growing = outputs[i].backlog_ended - outputs[i].backlog_begun >= 1;
    if (outputs[i].dropped > 0 || (growing && MoreLateThanPlain(outputs[i], plain))) {
      return false;
    }
  }
  return true;
}

}  // namespace bench
