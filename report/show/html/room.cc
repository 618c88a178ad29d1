// SPDX-License-Identifier: Apache-2.0
//
// Room for more sources on the report page: by kind, what each costs, and the rehearsals.

#include "report/predict/room.h"

#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/fields/words.h"
#include "report/show/html/sections.h"
#include "report/show/terminal/room_text.h"

namespace report {
namespace {

Table KindsTable(const Capacity& capacity) {
  Table table;
  table.caption = "How many more fit, each kind by itself";
  table.columns = {{"Like"},           {"What it is"},
                   {"Now", true},      {"More, no drops", true},
                   {"Interval", true}, {"More, margins kept", true},
                   {"Runs out first"}, {"With margins"}};
  for (const SourceRoom& room : capacity.sources) {
    const bool open = room.predicted >= room.limit;
    table.rows.push_back(
        {{room.like},
         {room.what},
         {std::to_string(room.present)},
         {fmt::format("{}{}", room.predicted, open ? " or more" : ""),
          room.predicted > 0 ? Mark::kGood : Mark::kWarn},
         {fmt::format("{} to {}", room.lowest, room.highest)},
         {std::to_string(room.within_margins), room.within_margins > 0 ? Mark::kNone : Mark::kWarn},
         {LimitText(room)},
         {room.margins_limited_by.empty() ? "nothing" : room.margins_limited_by}});
  }
  return table;
}

Table SharesTable(const Capacity& capacity) {
  Table table;
  table.caption = "What one more of each kind asks";
  table.columns = {{"Resource"},       {"One more like"}, {"Now", true}, {"One more", true},
                   {"There is", true}, {"Basis"},         {"From"}};
  for (const SourceRoom& room : capacity.sources) {
    for (const ResourceShare& share : room.shares) {
      table.rows.push_back(
          {{RowName(share.resource, share.item, ": ")},
           {room.like},
           {FormatQuantity(share.now, share.unit)},
           {FormatQuantity(share.each, share.unit)},
           {share.capacity ? FormatQuantity(*share.capacity, share.unit) : "not known"},
           {std::string(stored::WordOf(share.basis))},
           {share.source}});
    }
  }
  return table;
}

std::string NotCarriedText(bench::Stage stage) {
  return stage == bench::Stage::kNone ? "not carried"
                                      : fmt::format("not carried: lost in {}", base::WordOf(stage));
}

Table RunsTable(const bench::CapacitySearch& search) {
  Table table;
  table.caption = "Rehearsals with sources added";
  table.columns = {{"Added", true},   {"Judged", true},      {"Frames due", true},
                   {"Dropped", true}, {"CPUs in use", true}, {"Outcome"}};
  for (const bench::SearchRun& run : search.runs) {
    table.rows.push_back({{std::to_string(run.added)},
                          {base::FormatSeconds(run.seconds)},
                          {FormatCount(run.due)},
                          {FormatCount(run.dropped), run.dropped > 0 ? Mark::kStop : Mark::kNone},
                          {FormatPercent(100 * run.load)},
                          {run.carried ? std::string("carried") : NotCarriedText(run.stage),
                           run.carried ? Mark::kGood : Mark::kStop}});
  }
  return table;
}

Table ContentionTable(const bench::Contention& contention) {
  Table table;
  table.caption = "Pictures a second by workers at once: " + contention.work;
  table.columns = {{"Workers", true}, {"Pictures/s", true}, {"Of one worker", true}};
  for (const bench::ContentionPoint& point : contention.points) {
    const double one = contention.points.front().per_second;
    table.rows.push_back(
        {{std::to_string(point.workers)},
         {FormatNumber(point.per_second)},
         {one > 0 ? FormatNumber(point.per_second / one) + " x" : std::string("not known")}});
  }
  return table;
}

}  // namespace

View RoomView(const Document& document) {
  if (!HasRoomSection(document)) {
    return View(false);
  }
  View view("search_text", View(SearchText(document)));
  const auto& capacity = document.capacity;
  const bench::Results& results = document.evidence.results;
  const std::vector<std::string> notes = RoomNotes(document);
  view.set("kinds", capacity ? ToView(KindsTable(*capacity)) : View(false));
  view.set("shares", capacity ? ToView(SharesTable(*capacity)) : View(false));
  view.set("runs", results.search ? ToView(RunsTable(*results.search)) : View(false));
  view.set("contention",
           results.contention ? ToView(ContentionTable(*results.contention)) : View(false));
  view.set("has_notes", View(!notes.empty()));
  view.set("notes", ToView(notes));
  view.set("has_basis", View(capacity && !capacity->basis.empty()));
  view.set("basis", capacity ? ToView(capacity->basis) : View(false));
  return view;
}

}  // namespace report
