// SPDX-License-Identifier: Apache-2.0
//
// Sizes one source more after the other, kind by kind.

#include "report/predict/room.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/text/growth.h"
#include "profiles/words.h"
#include "report/headroom/headroom.h"
#include "report/predict/size_resources.h"

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

/// The speed of the whole pipeline is the CPU's by another measure.
std::string Name(const SizedResource& row) {
  const bool whole = row.resource == Resource::kEncoder && row.item == kWholePipeline;
  return whole ? RowName(Resource::kCpu, "") : RowName(row.resource, row.item, ": ");
}

bool KeepsNoMargin(const SizedResource& row) {
  return Below(row) || (!row.capacity && row.basis == Basis::kAssumed);
}

bool LowEndOver(const SizedResource& row) {
  return row.lowest_percent && !(*row.lowest_percent >= 0);
}

bool HighEndOver(const SizedResource& row) {
  return row.highest_percent && !(*row.highest_percent >= 0);
}

/// The first row of which that is true, the tightest of them; null where it is of none.
const SizedResource* FirstOf(const SizedProduction& sized, bool (*over)(const SizedResource&)) {
  const auto found = std::find_if(sized.resources.begin(), sized.resources.end(), over);
  return found == sized.resources.end() ? nullptr : &*found;
}

/// What one more adds to each row, and what it asks of that nothing tells of.
void AddShares(const SizedProduction& now, const SizedProduction& one_more, SourceRoom& room) {
  for (const SizedResource& row : one_more.resources) {
    const auto before = std::find_if(
        now.resources.begin(), now.resources.end(), [&row](const SizedResource& other) {
          return other.resource == row.resource && other.item == row.item;
        });
    const double each = row.asked - (before == now.resources.end() ? row.now : before->asked);
    if (each > 0 && row.capacity) {
      room.shares.push_back({row.resource, row.item, row.asked - each, each, row.capacity, row.unit,
                             row.basis, row.source});
    } else if (each > 0) {
      room.not_told.push_back(Name(row) + ": " + row.source);
    }
  }
  for (const UnprovenPart& part : one_more.unproven) {
    const bool of_row = std::any_of(one_more.resources.begin(), one_more.resources.end(),
                                    [&part](const SizedResource& row) {
                                      return part.resource == row.resource && part.item == row.item;
                                    });
    // Of ports nothing is told of the cameras that are there already, in the same words.
    const bool known_before =
        part.resource != Resource::kUsb &&
        std::find(now.unproven.begin(), now.unproven.end(), part) != now.unproven.end();
    if (!of_row && !known_before) {
      room.not_told.push_back(part.text);
    }
  }
}

/// One more after the other of a kind is sized, until even the best end of the interval is over.
SourceRoom RoomOf(const Sizer& sizer, const profiles::SourceKind& kind) {
  const profiles::Profile& profile = sizer.evidence().profile;
  SourceRoom room;
  room.like = kind.like;
  room.what = What(profile, kind);
  room.present = static_cast<int>(kind.members.size());
  room.limit = std::min(kMostAddedSources, profiles::MostAddedSources(profile, kind.like));
  room.lowest = room.predicted = room.within_margins = room.highest = room.limit;
  const SizedProduction now = sizer.Size(profile);
  for (int added = 1; added <= room.highest; ++added) {
    const auto grown = profiles::WithMoreSources(profile, kind.like, added);
    const SizedProduction sized = grown ? sizer.Size(*grown) : SizedProduction{};
    if (added == 1) {
      AddShares(now, sized, room);
    }
    const auto ends_at = [&](bool (*over)(const SizedResource&), int& most, std::string* by) {
      const SizedResource* const row = most >= added ? FirstOf(sized, over) : nullptr;
      if (row != nullptr) {
        most = added - 1;
        *by = Name(*row);
      }
    };
    std::string by_low_end;
    ends_at(LowEndOver, room.lowest, &by_low_end);
    ends_at(Over, room.predicted, &room.limited_by);
    ends_at(KeepsNoMargin, room.within_margins, &room.margins_limited_by);
    ends_at(HighEndOver, room.highest, &by_low_end);
  }
  room.lowest = std::min(room.lowest, room.predicted);
  room.highest = std::max(room.highest, room.predicted);
  return room;
}

bool Measured(const Evidence& evidence, const std::string& like, int added) {
  const auto& runs = evidence.results.grown_flat_out;
  return std::any_of(runs.begin(), runs.end(), [&](const bench::GrownFlatOut& run) {
    return run.like == like && run.added == added;
  });
}

}  // namespace

std::optional<Capacity> PredictCapacity(const Evidence& evidence) {
  const Sizer sizer(evidence);
  if (!sizer.cpu().lacking.empty() || evidence.profile.sources.empty()) {
    return std::nullopt;
  }
  Capacity capacity;
  for (const profiles::SourceKind& kind : profiles::KindsOfSources(evidence.profile)) {
    capacity.sources.push_back(RoomOf(sizer, kind));
    if (!sizer.cpu().permitted) {
      SourceRoom& room = capacity.sources.back();
      room.predicted = room.lowest = room.highest = room.within_margins = 0;
      room.limited_by = room.margins_limited_by = kDropsAlready;
    }
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
  capacity.basis = SizingBasis(sizer);
  return capacity;
}

std::optional<int> MoreToMeasure(const Evidence& evidence) {
  const auto capacity = PredictCapacity(evidence);
  const SourceRoom* const room = capacity ? RoomFor(*capacity, capacity->like) : nullptr;
  if (room == nullptr || room->limit < 1 || room->limited_by == kDropsAlready) {
    return std::nullopt;
  }
  const int most = std::clamp(room->predicted, 1, room->limit);
  for (const int added : {most, std::min(room->predicted + 1, room->limit)}) {
    if (!Measured(evidence, room->like, added)) {
      return added;
    }
  }
  return std::nullopt;
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
