// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/demand.h"

#include <algorithm>
#include <cstddef>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/rows/cables.h"
#include "report/show/rows/production.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Mark;
using show::Table;
using show::When;

Table SourceTable(const profiles::Profile& profile, const profiles::Demand& demand) {
  Table table{"What each source brings in",
              {{"Source", false, false, 10},
               {"Arrives by", false, false, 13},
               {"Picture", false, false, 14},
               {"Load", true},
               {"As SDI it needs", false, false, 16},
               {"A frame", true, false, 8, When::kDetails}},
              {}};
  const std::size_t count = std::min(profile.sources.size(), demand.sources.size());
  for (std::size_t at = 0; at < count; ++at) {
    const profiles::Source& source = profile.sources[at];
    const profiles::SourceDemand& sum = demand.sources[at];
    const bool network = source.arrives_by == profiles::ArrivesBy::kNetwork;
    table.rows.push_back(
        {{source.name},
         {ArrivalText(source)},
         {PictureText(source.raster, source.rate)},
         {network ? base::FormatBitsPerSecond(sum.network_bits_per_second)
                  : base::FormatBytesPerSecond(sum.bytes_per_second) + (sum.assumed ? " *" : "")},
         {show::OrDash(sum.sdi_link)},
         {network ? "-" : base::FormatBytes(static_cast<double>(sum.frame_bytes))}});
  }
  return table;
}

show::Part SourcesPart(const profiles::Profile& profile, const profiles::Demand& demand) {
  show::Part part{"Sources", {}};
  if (Table table = SourceTable(profile, demand); !table.rows.empty()) {
    part.blocks.emplace_back(std::move(table));
  }
  if (std::any_of(demand.sources.begin(), demand.sources.end(),
                  [](const profiles::SourceDemand& source) { return source.assumed; })) {
    part.blocks.emplace_back(
        show::Note{{"* compressed by the capture device: an assumed ratio, not a sum"}});
  }
  return part;
}

/// Of a codec that has levels, one holds the pictures or none does.
bool TooHigh(const profiles::OutputDemand& sum) {
  return sum.level.empty() && !sum.level_limit.empty();
}

std::string CodecText(const profiles::Output& output, const profiles::OutputDemand& sum) {
  return output.codec + (TooHigh(sum) ? ", no level" : sum.level.empty() ? "" : " " + sum.level);
}

/// "disk 775 kB/s" or "network 2.90 Mb/s".
std::string LoadText(const profiles::OutputDemand& sum) {
  std::string text;
  if (sum.disk_bytes_per_second > 0) {
    text = "disk " + base::FormatBytesPerSecond(sum.disk_bytes_per_second);
  }
  if (sum.network_bits_per_second > 0) {
    text += (text.empty() ? "network " : ", network ") +
            base::FormatBitsPerSecond(sum.network_bits_per_second);
  }
  return text;
}

Table OutputTable(const profiles::Profile& profile, const profiles::Demand& demand) {
  Table table{"What each output needs",
              {{"Output", false, false, 12},
               {"Input"},
               {"Picture", false, false, 14},
               {"Codec, level", false, false, 12},
               {"Level set by", false, false, 12, When::kDetails},
               {"Load", false, false, 17},
               {"Media", true, false, 8, When::kDetails},
               {"Space", true, false, 8, When::kDetails},
               {"Blocks/s", true, false, 8, When::kDetails}},
              {}};
  const std::size_t count = std::min(profile.outputs.size(), demand.outputs.size());
  for (std::size_t at = 0; at < count; ++at) {
    const profiles::Output& output = profile.outputs[at];
    const profiles::OutputDemand& sum = demand.outputs[at];
    table.rows.push_back(
        {{output.name},
         {InputText(output.takes)},
         {PictureText(output.raster, output.rate)},
         {CodecText(output, sum), sum.level_commonly_played ? Mark::kNone : Mark::kWarn},
         {show::OrDash(sum.level_limit)},
         {show::OrDash(LoadText(sum))},
         {base::FormatBitsPerSecond(sum.media_bits_per_second)},
         {sum.space_bytes > 0 ? base::FormatBytes(sum.space_bytes) : "-"},
         {FormatCount(sum.macroblocks_per_second)}});
  }
  return table;
}

/// Which encodes are shared, and what players may not take.
show::Lines OutputNotes(const profiles::Demand& demand) {
  show::Lines notes;
  for (const profiles::OutputDemand& sum : demand.outputs) {
    if (!sum.shares_encode_with.empty()) {
      notes.lines.push_back({fmt::format("{}: its encode is shared by {}", sum.name,
                                         fmt::join(sum.shares_encode_with, ", "))});
    }
    if (TooHigh(sum)) {
      notes.lines.push_back(
          {fmt::format("{}: no level of its codec allows its {}", sum.name, sum.level_limit),
           Mark::kWarn});
    } else if (!sum.level_commonly_played) {
      notes.lines.push_back(
          {fmt::format("{}: level {} is above what players commonly take; set by {}", sum.name,
                       sum.level, sum.level_limit),
           Mark::kWarn});
    }
  }
  return notes;
}

show::Part OutputsPart(const profiles::Profile& profile, const profiles::Demand& demand) {
  show::Part part{"Outputs", {}};
  if (Table table = OutputTable(profile, demand); !table.rows.empty()) {
    part.blocks.emplace_back(std::move(table));
    part.blocks.emplace_back(OutputNotes(demand));
  }
  return part;
}

show::Part SumsPart(const profiles::Profile& profile, const profiles::Demand& demand) {
  show::Facts facts;
  facts.Add("Capture", base::FormatBytesPerSecond(demand.capture_bytes_per_second));
  facts.Add("Network in", base::FormatBitsPerSecond(demand.network_in_bits_per_second));
  facts.Add("Network out", base::FormatBitsPerSecond(demand.network_out_bits_per_second));
  facts.Add("Disk", base::FormatBytesPerSecond(demand.disk_bytes_per_second));
  facts.Add("Space",
            fmt::format("{} for {}, largest file {}", base::FormatBytes(demand.space_bytes),
                        base::FormatSeconds(60.0 * profile.duration_minutes),
                        base::FormatBytes(demand.largest_file_bytes)));
  facts.Add("Encoding", fmt::format("{} at once; {} must be software, {} hardware",
                                    Plural(demand.encode_sessions, "session"),
                                    demand.software_encodes, demand.hardware_encodes));
  facts.Add("Decoding", Plural(demand.decode_sessions, "session"));
  facts.Add("Displays", FormatCount(demand.displays));
  facts.Add("Memory",
            fmt::format("{} in frames and encoders, {} read and written",
                        base::FormatBytes(demand.memory_pool_bytes),
                        base::FormatBytesPerSecond(demand.memory_traffic_bytes_per_second)));
  return {"Together", {std::move(facts)}};
}

}  // namespace

show::Sheet DemandSheet(const profiles::Profile& profile, const profiles::Demand& demand) {
  return {"Demand",
          {},
          fmt::format("What {} needs of a PC: calculated, nothing measured.", profile.name),
          {SourcesPart(profile, demand), OutputsPart(profile, demand), SumsPart(profile, demand)}};
}

show::Sheet DemandAnswer(const profiles::Profile& profile, const profiles::Demand& demand) {
  show::Sheet sheet = DemandSheet(profile, demand);
  sheet.parts.insert(sheet.parts.begin(), ShowPart(profile));
  sheet.parts.push_back(CablesPart(profile, {}));
  return sheet;
}

}  // namespace report
