// SPDX-License-Identifier: Apache-2.0
//
// The CPUs' capacity from the flat-out run and the scalability law.

#include "report/headroom/cpu_room.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

#include "base/stats/percentile.h"
#include "report/cpu/encode_costs.h"
#include "report/headroom/ballast_figures.h"
#include "report/headroom/headroom.h"

namespace report {
namespace {

/// A flat-out run that used this share of the CPUs was held up by nothing else.
constexpr double kUsedUp = 0.85;
/// Share of the CPUs that a production in real time uses up without drops
/// where no flat-out run shows it (assumed: queues of a few frames even out the rest).
constexpr double kUsable = 0.95;
/// How far the boundary itself moves from run to run (assumed).
constexpr double kBoundary = 0.10;
/// How far off the cost of one more source is (assumed).
constexpr double kMeasuredCost = 0.20;
constexpr double kComputedCost = 0.30;

/// CPUs that the production had when it asked for all it could use; 0 when not run.
double CpusHadFlatOut(const Facts& facts) {
  const auto& flat_out = facts.results().flat_out;
  return flat_out && flat_out->complete && flat_out->seconds > 0
             ? flat_out->cpu_seconds / flat_out->seconds
             : 0;
}

/// Times real time with the CPUs used up.
struct Speeds {
  double usual = 0;  // median of the windows: queues even out the slow ones
  double low = 0;    // what nine of ten windows held
};

bool Held(const Facts& facts) {
  return facts.run && facts.run->due > 0 && facts.run->Dropped() == 0;
}

/// CPUs of all encodes by the cost of single frames.
std::optional<double> CpusOfEncodes(const Facts& facts) {
  const auto& costs = facts.results().costs;
  const auto cpus = costs ? EncodeCpus(*costs, facts.profile()) : std::nullopt;
  return cpus && *cpus > 0 ? cpus : std::nullopt;
}

std::optional<Speeds> SpeedsOfFullCpus(const Facts& facts, const CpuRoom& room) {
  const double had = CpusHadFlatOut(facts);
  if (had <= 0 || had < kUsedUp * room.available) {
    return std::nullopt;
  }
  const auto& flat_out = facts.results().flat_out;
  constexpr std::size_t kWarmUpWindows = 2;
  std::span<const double> windows = flat_out->window_speeds;
  windows = windows.subspan(std::min(windows.size(), kWarmUpWindows));
  const double median = windows.empty() ? flat_out->speed : base::Percentile(windows, 50);
  const double least = Held(facts) ? 1 : 0;
  return Speeds{std::max({least, median, flat_out->speed}), std::max(least, flat_out->speed)};
}

/// More CPUs never do less work: who has them need not use them.
Scalability NeverFalling(Scalability law, double up_to) {
  // The law's highest point lies at sqrt((1 - alpha) / beta) workers.
  if (up_to > 0) {
    law.beta = std::min(law.beta, std::max(0.0, 1 - law.alpha) / (up_to * up_to));
  }
  return law;
}

/// Work of what takes this many CPUs; beyond all of them it grows as it did up to there.
double DoneBy(const CpuRoom& room, double cpus) {
  if (cpus <= room.available || room.available <= 0) {
    return ScaledBy(room.law, cpus);
  }
  return ScaledBy(room.law, room.available) * cpus / room.available;
}

/// `by_cost`: what the production's cost in real time lets the CPUs do.
void SetMost(const Facts& facts, double by_cost, CpuRoom& room) {
  const auto speeds = SpeedsOfFullCpus(facts, room);
  room.by_speed = speeds.has_value();
  // Who waits for every frame pays for waking; flat out nobody does. A light production costs more
  // in real time than its pictures will among many others, which lie between the two.
  const double flat_out = speeds ? speeds->usual * room.done : by_cost;
  room.most = flat_out > by_cost ? std::sqrt(flat_out * by_cost) : flat_out;
  // What was carried can be done, whatever the model says.
  if (Held(facts)) {
    room.most = std::max(room.most, room.done);
  }
  const double slow = speeds ? speeds->low * room.done : room.most;
  room.lowest = (1 - kBoundary) *
                std::min({room.most, slow, ScaledBy(Pessimistic(room.law), room.available)});
  room.highest = flat_out;
}

/// As the headroom has it: what that calls over leaves nothing for more.
void SetSpeed(const Facts& facts, CpuRoom& room) {
  if (const auto measured = SpeedFlatOut(facts)) {
    room.speed = *measured;
    room.speed_basis = Basis::kMeasured;
  } else {
    const double by_cost = kUsable * ScaledBy(room.law, room.available);
    room.speed = room.done > 0 ? by_cost / room.done : 0;
    if (const auto encodes = CpusOfEncodes(facts)) {
      room.speed = std::min(room.speed, room.available / *encodes);
    }
    room.speed = Held(facts) ? std::max(room.speed, 1.0) : room.speed;
  }
  if (room.speed <= 1) {
    room.most = std::min(room.most, room.done * room.speed);
    room.lowest = std::min(room.lowest, room.most);
  }
}

int Fits(double room, double each, int limit) {
  if (!(room >= 0) || !std::isfinite(each)) {
    return 0;  // none, or not a figure
  }
  // A source that costs nothing fits as often as may be.
  const double most = each > 0 ? std::floor(room / each + 1e-9) : limit;
  return static_cast<int>(std::clamp<double>(most, 0, limit));
}

}  // namespace

std::optional<double> SpeedFlatOut(const Facts& facts) {
  const auto& flat_out = facts.results().flat_out;
  if (!flat_out || !flat_out->complete) {
    return std::nullopt;
  }
  return Held(facts) ? std::max(flat_out->speed, 1.0) : flat_out->speed;
}

std::optional<CpuRoom> FindCpuRoom(const Facts& facts) {
  std::vector<Headroom> rows;
  CpuHeadroom(facts, rows);
  if (rows.empty() || !rows.front().capacity || !(rows.front().demand > 0)) {
    return std::nullopt;
  }
  const double by_arithmetic = *rows.front().capacity;
  LowerByBallast(facts, rows);
  CpuRoom room;
  room.used = rows.front().demand;
  room.available = *rows.front().capacity;
  if (const auto& contention = facts.results().contention) {
    if (const auto law = FitScalability(contention->points)) {
      room.law = NeverFalling(*law, room.available);
      room.law_measured = true;
    }
  }
  room.done = DoneBy(room, room.used);
  // What others use is not all lost: who asks for more gets a share of it.
  const double had = std::max(by_arithmetic, CpusHadFlatOut(facts));
  SetMost(facts, kUsable * ScaledBy(room.law, had), room);
  SetSpeed(facts, room);
  // Others may leave what they use now.
  const double all = std::max(had, facts.machine().cpu.usable_cpus.value_or(0));
  room.highest = std::max({room.most, room.highest, ScaledBy(Optimistic(room.law), all)});
  return room;
}

double CpusFor(const CpuRoom& room, double work) {
  double low = 0;
  double high = room.available;
  if (work > ScaledBy(room.law, high)) {
    return std::numeric_limits<double>::infinity();
  }
  constexpr int kHalvings = 60;
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = (low + high) / 2;
    (ScaledBy(room.law, middle) < work ? low : high) = middle;
  }
  return high;
}

double SpeedExponent(const CpuRoom& room) {
  const bool told = room.done > 0 && room.most > room.done && room.speed > 1;
  return told ? std::log(room.speed) / std::log(room.most / room.done) : 1;
}

double SpeedFor(const CpuRoom& room, double work) {
  return work > 0 ? room.speed * std::pow(room.done / work, SpeedExponent(room))
                  : std::numeric_limits<double>::infinity();
}

double ShareOfMost(const CpuRoom& room, double end) {
  return room.most > 0 ? end / room.most : 1;
}

CpuFit FitOnCpu(const CpuRoom& room, const AddedCpu& each, double multiview,
                const profiles::Margins& margins, int limit) {
  // Measured at the production's own load, so with the waiting that it has.
  const double work = room.used > 0 ? each.Sum() * room.done / room.used : each.Sum();
  const double spread = each.basis == Basis::kMeasured ? kMeasuredCost : kComputedCost;
  CpuFit fit;
  fit.without_drops = Fits(room.most - room.done, work, limit);
  fit.lowest = Fits(room.lowest - room.done, work * (1 + spread), limit);
  fit.highest = Fits(room.highest - room.done, work * (1 - spread), limit);
  const int on_one_thread = Fits(1 - multiview, each.multiview, limit);
  fit.by_multiview = on_one_thread < fit.without_drops;
  fit.without_drops = std::min(fit.without_drops, on_one_thread);
  fit.lowest = std::min(fit.lowest, fit.without_drops);
  fit.highest = std::max(fit.without_drops, std::min(fit.highest, on_one_thread));
  const double slowest = 1 / (1 - std::min(99.0, margins.encoder_percent) / 100);
  while (fit.within_margins < fit.without_drops) {
    const double asked = room.done + work * (fit.within_margins + 1);
    const double left = 100 * (1 - CpusFor(room, asked) / room.available);
    if (SpeedFor(room, asked) < slowest || !(left >= margins.cpu_percent)) {
      break;
    }
    ++fit.within_margins;
  }
  return fit;
}

}  // namespace report
