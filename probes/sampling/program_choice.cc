// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/program_choice.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <map>
#include <set>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::size_t kNameBytes = 15;  // that the kernel keeps of a process's name
constexpr double kLeastCpus = 0.05;     // less is no mixing program
constexpr double kFarBusier = 2;
constexpr int kRoundsToChange = 5;

double CpusOf(const ProcessTable& table, const std::set<int>& tree) {
  double cpus = 0;
  for (const int pid : tree) {
    cpus += table.all().at(pid).cpus;
  }
  return cpus;
}

}  // namespace

ProgramChoice::ProgramChoice(const std::string& asked, int own_pid)
    : asked_(asked), own_pid_(own_pid) {
  if (const auto pid = base::ParseInt(asked)) {
    asked_pid_ = static_cast<int>(std::clamp<std::int64_t>(*pid, 0, 1 << 30));
  }
}

int ProgramChoice::Asked(const ProcessTable& table) const {
  if (asked_pid_) {
    return table.all().contains(*asked_pid_) && pid_ == 0 && start_ == 0 ? *asked_pid_ : 0;
  }
  const std::string name = base::Printable(asked_.substr(0, kNameBytes), kNameBytes);
  int best = 0;
  std::int64_t most = -1;
  for (const auto& [pid, process] : table.all()) {
    if (process.latest.name != name || pid == own_pid_) {
      continue;
    }
    // A parent of the same name stands for its children.
    const auto parent = table.all().find(process.latest.parent);
    if (parent != table.all().end() && parent->second.latest.name == name) {
      continue;
    }
    const std::int64_t ticks = process.latest.own + process.latest.children;
    if (ticks > most) {
      most = ticks;
      best = pid;
    }
  }
  return best;
}

int ProgramChoice::BusiestTree(const ProcessTable& table) const {
  constexpr std::size_t kCandidates = 8;
  int best = 0;
  double most = kLeastCpus;
  for (const int candidate : table.Busiest(kCandidates)) {
    // Up while the parent has the same name: a program's own helpers.
    int top = candidate;
    for (int steps = 0; steps < 16; ++steps) {
      const auto parent = table.all().find(table.all().at(top).latest.parent);
      if (parent == table.all().end() ||
          parent->second.latest.name != table.all().at(top).latest.name) {
        break;
      }
      top = parent->first;
    }
    const std::set<int> tree = table.Tree(top);
    if (table.OfKernel(table.all().at(top).latest) || tree.contains(own_pid_)) {
      continue;
    }
    const double cpus = CpusOf(table, tree);
    if (cpus > most) {
      most = cpus;
      best = top;
    }
  }
  return best;
}

int ProgramChoice::Chosen(const ProcessTable& table, bool round_ended) {
  const auto known = table.all().find(pid_);
  const bool there =
      pid_ != 0 && known != table.all().end() && known->second.latest.start == start_;
  if (!asked_.empty()) {
    return there ? pid_ : Asked(table);
  }
  if (!there) {
    rounds_behind_ = 0;
    return round_ended || pid_ != 0 ? BusiestTree(table) : 0;
  }
  if (!round_ended) {
    return pid_;
  }
  const int busiest = BusiestTree(table);
  const bool behind =
      busiest != 0 && busiest != pid_ &&
      CpusOf(table, table.Tree(busiest)) > kFarBusier * CpusOf(table, table.Tree(pid_));
  rounds_behind_ = behind ? rounds_behind_ + 1 : 0;
  if (rounds_behind_ < kRoundsToChange) {
    return pid_;
  }
  rounds_behind_ = 0;
  return busiest;
}

bool ProgramChoice::Look(const ProcessTable& table, bool round_ended) {
  const int chosen = Chosen(table, round_ended);
  const auto known = table.all().find(chosen);
  const std::int64_t start = known == table.all().end() ? start_ : known->second.latest.start;
  if (chosen == pid_ && start == start_) {
    if (chosen != 0) {
      name_ = known->second.latest.name;  // a process may have begun another program
    }
    return false;
  }
  pid_ = chosen;
  start_ = start;
  name_ = chosen == 0 ? "" : known->second.latest.name;
  return true;
}

}  // namespace probes
