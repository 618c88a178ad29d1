// SPDX-License-Identifier: Apache-2.0
//
// Room for more sources on a terminal.

#include <string>

#include <fmt/format.h>

#include "report/quantities.h"
#include "report/room.h"
#include "report/room_text.h"
#include "report/write_terminal_sections.h"
#include "report/write_terminal_table.h"

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
