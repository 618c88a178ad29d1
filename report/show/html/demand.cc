// SPDX-License-Identifier: Apache-2.0
//
// What the production asks, on the report page: sums, and one row for each source and output.

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {

namespace {

show::Facts Sums(const profiles::Demand& demand) {
  show::Facts facts;
  facts.Add("Captured pictures", base::FormatBytesPerSecond(demand.capture_bytes_per_second));
  facts.Add("Disk", base::FormatBytesPerSecond(demand.disk_bytes_per_second));
  facts.Add("Space for the whole length", base::FormatBytes(demand.space_bytes));
  facts.Add("Largest file", base::FormatBytes(demand.largest_file_bytes));
  facts.Add("Network in", base::FormatBitsPerSecond(demand.network_in_bits_per_second));
  facts.Add("Network out", base::FormatBitsPerSecond(demand.network_out_bits_per_second));
  facts.Add("Encoders at once",
            fmt::format("{} ({} must be software, {} must be hardware)", demand.encode_sessions,
                        demand.software_encodes, demand.hardware_encodes));
  facts.Add("Decoders at once", std::to_string(demand.decode_sessions));
  facts.Add("Displays", std::to_string(demand.displays));
  facts.Add("Memory while it runs", base::FormatBytes(demand.memory_pool_bytes));
  facts.Add("Memory traffic", base::FormatBytesPerSecond(demand.memory_traffic_bytes_per_second));
  return facts;
}

Table SourceTable(const profiles::Demand& demand) {
  Table table{"What each source brings in",
              {{"Source", false},
               {"A frame", true},
               {"On its link", true},
               {"SDI it needs", false},
               {"On the network", true},
               {"Known by", false}},
              {}};
  for (const profiles::SourceDemand& source : demand.sources) {
    const bool network = source.network_bits_per_second > 0;
    table.rows.push_back(
        {{source.name},
         {network ? std::string("-") : base::FormatBytes(static_cast<double>(source.frame_bytes))},
         {network ? std::string("-") : base::FormatBytesPerSecond(source.bytes_per_second)},
         {OrDash(source.sdi_link)},
         {network ? base::FormatBitsPerSecond(source.network_bits_per_second) : std::string("-")},
         {source.assumed ? std::string("assumed: compressed") : std::string("computed")}});
  }
  return table;
}

std::string LevelText(const profiles::OutputDemand& output) {
  if (output.level.empty()) {
    return output.level_limit.empty() ? "none holds it" : "none holds it: " + output.level_limit;
  }
  return output.level_limit.empty() ? output.level
                                    : output.level + " for its " + output.level_limit;
}

Table OutputTable(const profiles::Demand& demand) {
  Table table{"What each output needs",
              {{"Output", false},
               {"Blocks a second", true},
               {"Codec level", false},
               {"Encode shared by", false},
               {"Media", true},
               {"Disk", true},
               {"Space", true},
               {"Network", true}},
              {}};
  for (const profiles::OutputDemand& output : demand.outputs) {
    table.rows.push_back(
        {{output.name},
         {FormatCount(output.macroblocks_per_second)},
         {LevelText(output) + (output.level_commonly_played ? "" : ", more than players take"),
          output.level_commonly_played ? Mark::kNone : Mark::kWarn},
         {output.shares_encode_with.empty()
              ? std::string("-")
              : fmt::format("{}", fmt::join(output.shares_encode_with, ", "))},
         {base::FormatBitsPerSecond(output.media_bits_per_second)},
         {output.disk_bytes_per_second > 0
              ? base::FormatBytesPerSecond(output.disk_bytes_per_second)
              : std::string("-")},
         {output.space_bytes > 0 ? base::FormatBytes(output.space_bytes) : std::string("-")},
         {output.network_bits_per_second > 0
              ? base::FormatBitsPerSecond(output.network_bits_per_second)
              : std::string("-")}});
  }
  return table;
}

}  // namespace

View DemandView(const Document& document) {
  const profiles::Demand& demand = document.evidence.demand;
  View view("sums", ToView(Sums(demand)));
  view.set("sources", ToView(SourceTable(demand)));
  view.set("outputs", ToView(OutputTable(demand)));
  return view;
}

}  // namespace report
