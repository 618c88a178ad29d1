// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/room.h"

#include <algorithm>
#include <cstdint>

#include <fmt/format.h>

#include "base/text.h"
#include "report/fields/words.h"
#include "report/headroom/cpu_room.h"
#include "report/predict/room.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Mark;

constexpr const char* kHowToSearch =
    "`rigproof rehearse --search PROFILE` rehearses that many and one more";

/// " (dropped in the stage encode)" of the runs with that many sources.
std::string WhereDropped(const bench::CapacitySearch& search, std::int64_t added) {
  for (const bench::SearchRun& run : search.runs) {
    if (run.added == added && !run.carried && run.stage != bench::Stage::kNone) {
      return fmt::format(" (dropped in the stage {})", base::WordOf(run.stage));
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
                        most == 0 ? "was" : "were", WhereDropped(search, most + 1));
  text += fmt::format("; {}", Rehearsals(search));
  text += most == search.predicted ? ", as predicted."
                                   : fmt::format("; {} predicted.", search.predicted);
  return text + " Tested with simulated cameras; USB and PCIe links of real ones are not tested.";
}

std::string HardwareText(const bench::HardwareEncode& encoder) {
  std::string text = fmt::format("{}: {} of {} sessions of {}x{} opened at once", encoder.encoder,
                                 encoder.sessions, encoder.wanted, encoder.width, encoder.height);
  if (encoder.one_per_second > 0) {
    text += fmt::format(", {} frames/s in one, {} in all", FormatNumber(encoder.one_per_second),
                        FormatNumber(encoder.all_per_second));
  }
  return encoder.refusal.empty() ? text : text + "; the next: " + encoder.refusal;
}

bool AnyHardwareWorks(const probes::CodecInventory& codecs) {
  return std::any_of(codecs.trials.begin(), codecs.trials.end(), [](const auto& trial) {
    return trial.encoder && trial.hardware && trial.works;
  });
}

show::Lines LinesOf(const std::vector<std::string>& texts, show::When when) {
  show::Lines lines;
  lines.when = when;
  for (const std::string& text : texts) {
    lines.lines.push_back({text});
  }
  return lines;
}

/// What an added source needs and nothing tells of; hardware encoders as they opened.
show::Lines NotesOf(const Document& document, const Capacity& capacity) {
  std::vector<std::string> notes;
  for (const SourceRoom& room : capacity.sources) {
    for (const std::string& missing : room.not_told) {
      notes.push_back(fmt::format("Not known for one more like {}: {}", room.like, missing));
    }
  }
  for (const bench::HardwareEncode& encoder : document.evidence.results.hardware_encodes) {
    notes.push_back(HardwareText(encoder));
  }
  const auto& codecs = document.evidence.inventory.codecs;
  if (codecs.tried.known() && *codecs.tried && !AnyHardwareWorks(codecs)) {
    notes.emplace_back("Hardware encoders: none opened on this PC; every encode is counted as CPU");
  }
  return LinesOf(notes, show::When::kAlways);
}

std::string NothingOr(const std::string& what, int limit) {
  return what.empty() ? fmt::format("nothing up to {}", limit) : what;
}

show::Table KindsTable(const Capacity& capacity) {
  show::Table table{"How many more fit, each kind by itself",
                    {{"Source", false, false, 10},
                     {"Now", true},
                     {"Can add", true},
                     {"Can add within margins", true},
                     {"Runs out first", false, false, 12},
                     {"Within margins", false, false, 12, show::When::kPage}},
                    {}};
  for (const SourceRoom& room : capacity.sources) {
    table.rows.push_back(
        {{room.like},
         {std::to_string(room.present)},
         {RoomText(room), room.predicted > 0 ? Mark::kGood : Mark::kWarn},
         {std::to_string(room.within_margins), room.within_margins > 0 ? Mark::kNone : Mark::kWarn},
         {NothingOr(room.limited_by, room.limit)},
         {NothingOr(room.margins_limited_by, room.limit)}});
    table.below.push_back(room.what);
  }
  return table;
}

show::Table SharesTable(const Capacity& capacity) {
  show::Table table{"What one more of each kind needs",
                    {{"Resource"},
                     {"One more like"},
                     {"Now", true},
                     {"One more", true},
                     {"Available", true},
                     {"Basis"},
                     {"From", false, true}},
                    {}};
  table.when = show::When::kPage;
  for (const SourceRoom& room : capacity.sources) {
    for (const ResourceShare& share : room.shares) {
      table.rows.push_back(
          {{RowName(share.resource, share.item, ": ")},
           {room.like},
           {FormatQuantity(share.now, share.unit)},
           {FormatQuantity(share.each, share.unit)},
           {share.capacity ? FormatQuantity(*share.capacity, share.unit) : "not known"},
           {std::string(base::WordOf(share.basis))},
           {share.source}});
    }
  }
  return table;
}

show::Cell OutcomeOf(const bench::SearchRun& run) {
  if (run.carried) {
    return {"carried", Mark::kGood};
  }
  return {run.stage == bench::Stage::kNone
              ? "not carried"
              : fmt::format("not carried: dropped in {}", base::WordOf(run.stage)),
          Mark::kStop};
}

show::Table RunsTable(const bench::CapacitySearch& search) {
  show::Table table{"Rehearsals with sources added",
                    {{"Added", true},
                     {"Judged", true},
                     {"Frames due", true},
                     {"Dropped", true},
                     {"CPUs in use", true},
                     {"Outcome"}},
                    {}};
  table.when = show::When::kPage;
  for (const bench::SearchRun& run : search.runs) {
    table.rows.push_back({{std::to_string(run.added)},
                          {base::FormatSeconds(run.seconds)},
                          {FormatCount(run.due)},
                          {FormatCount(run.dropped), run.dropped > 0 ? Mark::kStop : Mark::kNone},
                          {FormatPercent(100 * run.load)},
                          OutcomeOf(run)});
  }
  return table;
}

show::Table FullSpeedTable(const std::vector<bench::GrownFlatOut>& runs) {
  show::Table table{"Full-speed runs with sources added",
                    {{"Added", true}, {"Like"}, {"Speed", true}, {"CPUs", true}, {"Ran", true}},
                    {}};
  table.when = show::When::kPage;
  for (const bench::GrownFlatOut& grown : runs) {
    const bench::FlatOut& run = grown.run;
    const double cpus = run.seconds > 0 ? run.cpu_seconds / run.seconds : 0;
    table.rows.push_back(
        {{std::to_string(grown.added)},
         {grown.like},
         {run.complete ? FormatQuantity(MeanSpeed(run), "x real time") : run.stopped_because,
          run.complete && MeanSpeed(run) >= 1 ? Mark::kGood : Mark::kWarn},
         {FormatNumber(cpus)},
         {base::FormatSeconds(run.seconds)}});
  }
  return table;
}

show::Table ContentionTable(const bench::Contention& contention) {
  show::Table table{"CPU scaling test, frames a second by workers at once: " + contention.work,
                    {{"Workers", true}, {"Frames/s", true}, {"Of one worker", true}},
                    {}};
  table.when = show::When::kPage;
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

show::Part RoomPart(const Document& document) {
  show::Part part{"Room for more sources", {}};
  const auto& capacity = document.capacity;
  const bench::Results& results = document.evidence.results;
  if (!capacity && !results.rehearsal) {
    return part;
  }
  if (capacity) {
    part.blocks.emplace_back(KindsTable(*capacity));
  }
  part.blocks.emplace_back(show::Note{{SearchText(document)}});
  if (capacity) {
    part.blocks.emplace_back(NotesOf(document, *capacity));
  }
  if (results.search) {
    part.blocks.emplace_back(RunsTable(*results.search));
  }
  if (capacity) {
    part.blocks.emplace_back(SharesTable(*capacity));
  }
  if (!results.grown_flat_out.empty()) {
    part.blocks.emplace_back(FullSpeedTable(results.grown_flat_out));
  }
  if (results.contention) {
    part.blocks.emplace_back(ContentionTable(*results.contention));
  }
  if (capacity && !capacity->basis.empty()) {
    part.blocks.emplace_back(show::Subtitle{"How it was calculated", show::When::kPage});
    part.blocks.emplace_back(LinesOf(capacity->basis, show::When::kPage));
  }
  return part;
}

}  // namespace report
