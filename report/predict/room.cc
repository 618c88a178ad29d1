// SPDX-License-Identifier: Apache-2.0
//
// Puts the CPU's room and every other resource's together, kind by kind.

#include "report/predict/room.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/text/growth.h"
#include "profiles/words.h"
#include "report/headroom/cpu_room.h"
#include "report/headroom/headroom.h"
#include "report/headroom/resource_room.h"

namespace report {
namespace {

constexpr const char* kDropsAlready = "the production drops frames as it is";

/// "1280x720 nv12 at 25 by usb, with 1 iso".
std::string What(const profiles::Profile& profile, const profiles::SourceKind& kind) {
  const profiles::Source& source = *profiles::FindSource(profile, kind.like);
  const std::string& form = source.pixel_format.empty() ? source.codec : source.pixel_format;
  std::string text =
      fmt::format("{} {} at {} by {}", profiles::ToText(source.raster), form,
                  base::ToShortText(source.rate), profiles::ToWord(source.arrives_by));
  if (!kind.isos.empty()) {
    text += fmt::format(", with {} iso{}", kind.isos.size(), kind.isos.size() == 1 ? "" : "s");
  }
  return text;
}

std::string Name(const Headroom& row) {
  return RowName(row.resource, row.item, ": ");
}

const Headroom* SameRow(const std::vector<Headroom>& rows, const Headroom& row) {
  const auto found = std::find_if(rows.begin(), rows.end(), [&](const Headroom& other) {
    return other.resource == row.resource && other.item == row.item;
  });
  return found == rows.end() ? nullptr : &*found;
}

/// A number of sources more, and what ends it there.
struct Bound {
  int most = 0;
  std::string by;

  /// The tighter of the two; the first at a tie.
  void Tighten(int other, const std::string& other_by) {
    if (other < most) {
      most = other;
      by = other_by;
    }
  }
};

class KindRoom {
 public:
  KindRoom(const Evidence& evidence, const profiles::SourceKind& kind, const CpuRoom& cpu,
           const CpuModel& model, bool carried)
      : evidence_(evidence), kind_(kind), cpu_(cpu), model_(model), carried_(carried) {
    room_.like = kind.like;
    room_.what = What(evidence.profile, kind);
    room_.present = static_cast<int>(kind.members.size());
    room_.limit =
        std::min(kMostAddedSources, profiles::MostAddedSources(evidence.profile, kind.like));
  }

  SourceRoom Find() {
    const AddedCpu each = CpuOfOneMore(model_, evidence_.profile, kind_);
    if (!each.told) {
      room_.not_told.emplace_back("cpu: a part of it was neither rehearsed nor timed");
    }
    room_.shares.push_back({Resource::kCpu, "", cpu_.used, each.Sum(), cpu_.available, "CPUs",
                            each.basis,
                            "mean over the kind: taking in, converting, its isos; and its share "
                            "of the multiview"});
    const CpuFit fit =
        FitOnCpu(cpu_, each, MultiviewCpus(), evidence_.profile.margins, room_.limit);
    Bound drops{room_.limit, ""};
    Bound margins{room_.limit, ""};
    drops.Tighten(fit.without_drops, fit.by_multiview ? "cpu: the multiview's one thread" : "cpu");
    margins.Tighten(fit.within_margins, "cpu");
    AddOthers(drops, margins);
    room_.lowest = std::min(fit.lowest, drops.most);
    room_.highest = std::max(drops.most, std::min(fit.highest, others_most_));
    Settle(drops, margins);
    return std::move(room_);
  }

 private:
  double MultiviewCpus() const {
    double cpus = 0;
    for (const CpuPart& part : model_.parts) {
      cpus += part.stage == bench::Stage::kMultiview ? part.cpus : 0;
    }
    return cpus;
  }

  std::vector<Headroom> Grown(int added) const {
    const auto grown = profiles::WithMoreSources(evidence_.profile, kind_.like, added);
    return grown ? RowsOfGrown(evidence_, *grown) : std::vector<Headroom>{};
  }

  void AddShares(const std::vector<Headroom>& now, const std::vector<Headroom>& one_more) {
    for (const Headroom& row : one_more) {
      const Headroom* const before = SameRow(now, row);
      const double each = row.demand - (before == nullptr ? 0 : before->demand);
      if (each <= 0) {
        continue;
      }
      if (row.capacity) {
        room_.shares.push_back({row.resource, row.item, row.demand - each, each, row.capacity,
                                row.unit, Basis::kComputed, row.source});
      } else {
        room_.not_told.push_back(Name(row) + ": " + row.source);
      }
    }
  }

  void AddOthers(Bound& drops, Bound& margins) {
    const std::vector<Headroom> now = Grown(0);
    others_most_ = room_.limit;
    for (int added = 1; added <= room_.limit; ++added) {
      const std::vector<Headroom> rows = Grown(added);
      if (added == 1) {
        AddShares(now, rows);
      }
      for (const Headroom& row : rows) {
        if (OverCapacity(row)) {
          others_most_ = std::min(others_most_, added - 1);
          drops.Tighten(added - 1, Name(row));
        }
        const bool over_by_assumption = !row.capacity && row.basis == Basis::kAssumed;
        if (OverCapacity(row) || BelowMargin(row) || over_by_assumption) {
          margins.Tighten(added - 1, Name(row));
        }
      }
      if (others_most_ < added) {
        break;  // more sources only ask for more
      }
    }
  }

  void Settle(const Bound& drops, const Bound& margins) {
    room_.predicted = drops.most;
    room_.limited_by = drops.by;
    room_.within_margins = std::min(margins.most, drops.most);
    room_.margins_limited_by = margins.most < drops.most ? margins.by : drops.by;
    if (!carried_) {
      room_.predicted = room_.lowest = room_.highest = room_.within_margins = 0;
      room_.limited_by = room_.margins_limited_by = kDropsAlready;
    }
  }

  const Evidence& evidence_;
  const profiles::SourceKind& kind_;
  const CpuRoom& cpu_;
  const CpuModel& model_;
  bool carried_;
  int others_most_ = 0;
  SourceRoom room_;
};

std::string LawLine(const CpuRoom& cpu, const std::optional<bench::Contention>& contention) {
  if (cpu.law_measured) {
    return "Contention by Gunther's Universal Scalability Law, C(N) = N / (1 + alpha (N - 1) + "
           "beta N (N - 1)): " +
           ToText(cpu.law) + " (" + base::Printable(contention->work, 200) + ")";
  }
  return "Contention was not measured" +
         (contention && !contention->failure.empty()
              ? ": " + base::Printable(contention->failure, 200)
              : std::string(": CPUs are taken as not getting in each other's way"));
}

std::vector<std::string> BasisLines(const CpuRoom& cpu, const CpuModel& model,
                                    const Evidence& evidence) {
  std::vector<std::string> lines;
  const double parts = model.Total();
  lines.push_back(fmt::format(
      "CPU: {:.2f} of {:.2f} CPUs are needed now; {:.2f} of them are accounted to stages{}",
      cpu.used, cpu.available, parts,
      std::all_of(model.parts.begin(), model.parts.end(),
                  [](const CpuPart& part) { return part.basis == Basis::kMeasured; })
          ? " (CPU time per frame in the rehearsal)"
          : " (CPU time per frame in the rehearsal, where it has none from single frames)"));
  lines.push_back(LawLine(cpu, evidence.results.contention));
  lines.emplace_back(cpu.by_speed
                         ? "Most work without drops: the usual speed of the full-speed run, which "
                           "used the CPUs up; where its CPU time in real time allows less (a light "
                           "production wakes for every frame), the geometric mean of both"
                         : "Most work without drops: 95 % of the CPUs (assumed)");
  lines.emplace_back(
      "Interval: the law's coefficients at both ends, the slow windows of the full-speed run and "
      "10 "
      "% "
      "less, and the cost of one more source 20 % (rehearsed) or 30 % (from single frames) off; "
      "these shares are assumed");
  return lines;
}

}  // namespace

std::optional<Capacity> PredictCapacity(const Evidence& evidence) {
  const Facts facts = GatherFacts(evidence);
  const auto model = ModelCpu(evidence.profile, evidence.results);
  const auto cpu = FindCpuRoom(facts);
  if (!model || !cpu || evidence.profile.sources.empty()) {
    return std::nullopt;
  }
  const bool carried = facts.run && facts.run->due > 0 && facts.run->Permitted();
  Capacity capacity;
  for (const profiles::SourceKind& kind : profiles::KindsOfSources(evidence.profile)) {
    capacity.sources.push_back(KindRoom(evidence, kind, *cpu, *model, carried).Find());
  }
  capacity.like = profiles::CommonestKind(evidence.profile).like;
  if (const SourceRoom* const room = RoomFor(capacity, capacity.like)) {
    capacity.added_sources_predicted = room->predicted;
    capacity.interval = {room->lowest, room->highest};
    capacity.limited_by = room->limited_by;
  }
  const auto& search = evidence.results.search;
  if (search && search->like == capacity.like) {
    capacity.added_sources_confirmed = search->confirmed;
  }
  capacity.basis = BasisLines(*cpu, *model, evidence);
  return capacity;
}

const SourceRoom* RoomFor(const Capacity& capacity, const std::string& like) {
  const auto found = std::find_if(capacity.sources.begin(), capacity.sources.end(),
                                  [&](const SourceRoom& room) { return room.like == like; });
  return found == capacity.sources.end() ? nullptr : &*found;
}

std::string RoomText(const SourceRoom& room) {
  const bool open = room.predicted >= room.limit;
  std::string text =
      room.predicted == 0 ? "none" : fmt::format("{}{}", room.predicted, open ? " or more" : "");
  if (room.lowest != room.highest) {
    text += fmt::format(" ({} to {})", room.lowest, room.highest);
  }
  return text;
}

}  // namespace report
