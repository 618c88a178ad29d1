// SPDX-License-Identifier: Apache-2.0
//
// Room for more sources on a terminal.

#include "report/predict/room.h"

#include <string>

#include <fmt/format.h>

#include "report/show/terminal/room_text.h"
#include "report/show/terminal/sections.h"
#include "report/show/terminal/table.h"
#include "report/words/quantities.h"

namespace report {
namespace {

void PutKinds(TerminalPage& page, const Capacity& capacity) {
  TerminalTable table;
  table.columns = {{"like", false, 10},
                   {"now", true},
                   {"more", true},
                   {"with margins", true},
                   {"runs out first", false, 12}};
  for (const SourceRoom& room : capacity.sources) {
    const Tone tone = room.predicted > 0 ? Tone::kGood : Tone::kWarn;
    table.rows.push_back({{room.like},
                          {std::to_string(room.present)},
                          {RoomText(room), tone},
                          {std::to_string(room.within_margins)},
                          {LimitText(room)}});
    table.below.push_back(room.what);
  }
  PutTable(page, 2, table);
}

}  // namespace

void PutRoom(TerminalPage& page, const Document& document) {
  if (!HasRoomSection(document)) {
    return;
  }
  page.Heading("Room for more sources");
  if (document.capacity) {
    PutKinds(page, *document.capacity);
  }
  page.Paragraph(2, {SearchText(document)});
  for (const std::string& note : RoomNotes(document)) {
    page.Beside(2, {"-"}, 2, {note});
  }
}

}  // namespace report
