// SPDX-License-Identifier: Apache-2.0
//
// Sentences on room for more sources.

#include "report/show/terminal/room_text.h"

#include <algorithm>
#include <cstdint>

#include <fmt/format.h>

#include "base/text.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr const char* kHowToSearch =
    "`rigproof rehearse --search PROFILE` rehearses that many and one more";

/// " (lost in the stage encode)" of the runs with that many sources.
std::string WhereLost(const bench::CapacitySearch& search, std::int64_t added) {
  for (const bench::SearchRun& run : search.runs) {
    if (run.added == added && !run.carried && run.stage != bench::Stage::kNone) {
      return fmt::format(" (lost in the stage {})", base::WordOf(run.stage));
    }
  }
  return "";
}

std::string Rehearsals(const bench::CapacitySearch& search) {
  return fmt::format("{} in {}", Plural(static_cast<std::int64_t>(search.runs.size()), "rehearsal"),
                     base::FormatSeconds(search.seconds));
}

std::string ConfirmedText(const bench::CapacitySearch& search) {
  const std::int64_t most = *search.confirmed;
  std::string text =
      most >= search.limit
          ? fmt::format("Rehearsed: {} more like {} were carried, as many as could be tried", most,
                        search.like)
          : fmt::format("Rehearsed: {} more like {} {}, {} {} not{}",
                        most == 0 ? "no" : std::to_string(most), search.like,
                        most == 0 ? "can be added" : "were carried", most + 1,
                        most == 0 ? "was" : "were", WhereLost(search, most + 1));
  text += fmt::format("; {}", Rehearsals(search));
  text += most == search.predicted ? ", as predicted."
                                   : fmt::format("; {} predicted.", search.predicted);
  return text + " Simulated cameras: the links of real ones are not part of it.";
}

std::string HardwareText(const bench::HardwareEncode& encoder) {
  std::string text = fmt::format("{}: {} of {} sessions of {}x{} opened at once", encoder.encoder,
                                 encoder.sessions, encoder.wanted, encoder.width, encoder.height);
  if (encoder.one_per_second > 0) {
    text += fmt::format(", {} pictures/s in one, {} in all", FormatNumber(encoder.one_per_second),
                        FormatNumber(encoder.all_per_second));
  }
  return encoder.refusal.empty() ? text : text + "; the next: " + encoder.refusal;
}

bool AnyHardwareWorks(const probes::CodecInventory& codecs) {
  return std::any_of(codecs.trials.begin(), codecs.trials.end(), [](const auto& trial) {
    return trial.encoder && trial.hardware && trial.works;
  });
}

}  // namespace

bool HasRoomSection(const Document& document) {
  return document.capacity.has_value() || document.evidence.results.rehearsal.has_value();
}

std::string SearchText(const Document& document) {
  const auto& search = document.evidence.results.search;
  if (!document.capacity) {
    return search && !search->stopped_because.empty()
               ? "Not searched: " + search->stopped_because + "."
               : "Not searched, and not predicted: what one source costs was not measured.";
  }
  if (!search) {
    return std::string("Not searched: the numbers are predicted from measured costs; ") +
           kHowToSearch + ".";
  }
  if (search->confirmed) {
    return ConfirmedText(*search);
  }
  return fmt::format("Not confirmed{}: {}.",
                     search->runs.empty() ? "" : " after " + Rehearsals(*search),
                     search->stopped_because);
}

std::vector<std::string> RoomNotes(const Document& document) {
  std::vector<std::string> notes;
  if (!document.capacity) {
    return notes;
  }
  for (const SourceRoom& room : document.capacity->sources) {
    for (const std::string& missing : room.not_told) {
      notes.push_back(fmt::format("Not told for one more like {}: {}", room.like, missing));
    }
  }
  for (const bench::HardwareEncode& encoder : document.evidence.results.hardware_encodes) {
    notes.push_back(HardwareText(encoder));
  }
  const auto& codecs = document.evidence.inventory.codecs;
  if (codecs.tried.known() && *codecs.tried && !AnyHardwareWorks(codecs)) {
    notes.emplace_back("Hardware encoders: none opened on this PC; every encode is counted as CPU");
  }
  return notes;
}

std::string LimitText(const SourceRoom& room) {
  return room.limited_by.empty() ? fmt::format("nothing up to {}", room.limit) : room.limited_by;
}

}  // namespace report
