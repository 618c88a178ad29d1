// SPDX-License-Identifier: Apache-2.0
//
// The CPUs' capacity from the full-speed runs and the scalability law.

#include "report/headroom/cpu_room.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

#include "base/stats/percentile.h"
#include "profiles/text/growth.h"
#include "report/cpu/encode_costs.h"
#include "report/cpu/size_cpu.h"
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

std::span<const double> AfterWarmUp(const bench::FlatOut& run) {
  constexpr std::size_t kWarmUpWindows = 2;
  const std::span<const double> windows = run.window_speeds;
  return windows.subspan(std::min(windows.size(), kWarmUpWindows));
}

/// Median of the windows, the first ones left out.
double UsualSpeed(const bench::FlatOut& run) {
  const std::span<const double> windows = AfterWarmUp(run);
  return std::max(run.speed, windows.empty() ? run.speed : base::Percentile(windows, 50));
}

std::optional<Speeds> SpeedsOfFullCpus(const Facts& facts, const CpuRoom& room) {
  const double had = CpusHadFlatOut(facts);
  if (had <= 0 || had < kUsedUp * room.available) {
    return std::nullopt;
  }
  const bench::FlatOut& flat_out = *facts.results().flat_out;
  const double least = Held(facts) ? 1 : 0;
  return Speeds{std::max(least, UsualSpeed(flat_out)), std::max(least, flat_out.speed)};
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

/// Beyond a run that did not use the CPUs up, speed may fall more slowly than work grows.
constexpr double kLeastExponent = 0.5;

struct GrownPoint {
  LoadPoint point;
  bool used_up = false;
};

double Simulation(const ScaledCpu& scaled) {
  double cpus = 0;
  for (const ScaledPart& part : scaled.parts) {
    cpus += bench::IsSimulation(part.stage) ? part.cpus : 0;
  }
  return cpus;
}

std::optional<GrownPoint> PointOf(const Facts& facts, const bench::GrownFlatOut& grown,
                                  const CpuRoom& room) {
  const bench::FlatOut& run = grown.run;
  const auto profile = profiles::WithMoreSources(facts.profile(), grown.like, grown.added);
  if (!run.complete || !(run.speed > 0) || !(run.seconds > 0) || grown.added < 1 || !profile) {
    return std::nullopt;
  }
  const ScaledCpu scaled = ScaleCpu(facts.evidence, *profile);
  const double asked =
      room.used + scaled.Total() - ScaleCpu(facts.evidence, facts.profile()).Total();
  const double had = run.cpu_seconds / run.seconds;
  GrownPoint found;
  found.point.work = asked * room.done / room.used;
  found.point.speed = MeanSpeed(run);
  found.used_up = had >= kUsedUp * room.available;
  // What it takes from others at full speed it need not have in real time.
  found.point.cpus =
      std::min(had / found.point.speed - Simulation(scaled), room.available / found.point.speed);
  const bool told = std::isfinite(found.point.work) && found.point.work > room.done;
  return told && found.point.cpus > 0 ? std::optional(found) : std::nullopt;
}

/// With sources added, by ascending work.
std::vector<GrownPoint> PointsOfGrown(const Facts& facts, const CpuRoom& room) {
  std::vector<GrownPoint> points;
  for (const bench::GrownFlatOut& grown : facts.results().grown_flat_out) {
    const auto point = PointOf(facts, grown, room);
    const bool another = point && std::none_of(points.begin(), points.end(), [&](const auto& one) {
                           return one.point.work == point->point.work;
                         });
    if (another) {
      points.push_back(*point);
    }
  }
  std::sort(points.begin(), points.end(),
            [](const auto& a, const auto& b) { return a.point.work < b.point.work; });
  return points;
}

/// By one point: the speed falls to real time where all CPUs are used up.
void SetPiecesByLaw(CpuRoom& room) {
  const bool told = room.done > 0 && room.most > room.done && room.speed > 1;
  const double exponent = told ? std::log(room.speed) / std::log(room.most / room.done) : 1;
  std::vector<LoadPoint> points{{room.done, room.speed, room.used}};
  if (told && room.by_speed && room.most > ScaledBy(room.law, room.available)) {
    points.push_back({room.most, 1, room.available});
    room.cpus_by_pieces = true;
  }
  room.pieces = PiecesThrough(points, exponent);
}

void SetPieces(const Facts& facts, CpuRoom& room) {
  const std::vector<GrownPoint> grown = PointsOfGrown(facts, room);
  if (grown.empty() || !(room.speed > 1) || !Held(facts)) {
    SetPiecesByLaw(room);
    return;
  }
  std::vector<LoadPoint> points{{room.done, room.speed, room.used}};
  for (const GrownPoint& one : grown) {
    points.push_back(one.point);
  }
  double beyond = 1;
  if (!grown.back().used_up) {
    const auto pieces = PiecesThrough(points, 1);
    beyond = std::clamp(pieces[pieces.size() - 2].exponent, kLeastExponent, 1.0);
  }
  room.pieces = PiecesThrough(points, beyond);
  room.cpus_by_pieces = true;
  room.grown = static_cast<int>(grown.size());
  room.most = std::max(room.done, WorkAtRealTime(room.pieces));
  room.lowest = (1 - kBoundary) * room.most;
  const double all = facts.machine().cpu.usable_cpus.value_or(room.available);
  room.highest = (1 + kBoundary) * std::max(1.0, all / room.available) * room.most;
}

}  // namespace

double MeanSpeed(const bench::FlatOut& run) {
  const std::span<const double> windows = AfterWarmUp(run);
  return windows.empty() ? run.speed : base::Mean(windows);
}

const bench::GrownFlatOut* FasterWithMore(const bench::Results& results) {
  const bench::GrownFlatOut* fastest = nullptr;
  double speed = results.flat_out ? results.flat_out->speed : 0;
  for (const bench::GrownFlatOut& grown : results.grown_flat_out) {
    if (grown.run.complete && MeanSpeed(grown.run) > speed) {
      fastest = &grown;
      speed = MeanSpeed(grown.run);
    }
  }
  return fastest;
}

std::optional<double> SpeedFlatOut(const Facts& facts) {
  const auto& flat_out = facts.results().flat_out;
  if (!flat_out || !flat_out->complete) {
    return std::nullopt;
  }
  const bench::GrownFlatOut* const grown = FasterWithMore(facts.results());
  const double speed = grown == nullptr ? flat_out->speed : MeanSpeed(grown->run);
  return Held(facts) ? std::max(speed, 1.0) : speed;
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
  SetPieces(facts, room);
  return room;
}

double CpusFor(const CpuRoom& room, double work) {
  if (room.cpus_by_pieces) {
    return CpusAt(room.pieces, work);
  }
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

double SpeedFor(const CpuRoom& room, double work) {
  return SpeedAt(room.pieces, work);
}

double ShareOfMost(const CpuRoom& room, double end) {
  return room.most > 0 ? end / room.most : 1;
}

}  // namespace report
