// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/demand.h"

#include <algorithm>
#include <cstddef>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/rational.h"
#include "base/text.h"
#include "report/show/terminal/cables.h"
#include "report/show/terminal/table.h"
#include "report/show/terminal/text.h"
#include "report/words/quantities.h"

namespace report {
namespace {

std::string Picture(const profiles::Raster& raster, const base::Rational& rate) {
  return profiles::ToText(raster) + " at " + base::ToShortText(rate);
}

std::string ArrivalWord(profiles::ArrivesBy arrives_by) {
  switch (arrives_by) {
    case profiles::ArrivesBy::kUsb:
      return "USB";
    case profiles::ArrivesBy::kPcie:
      return "PCIe";
    case profiles::ArrivesBy::kNetwork:
      return "network";
  }
  return "";
}

void PutSources(TerminalPage& page, const profiles::Profile& profile,
                const profiles::Demand& demand) {
  page.Heading("Sources");
  TerminalTable table;
  table.columns = {{"source", false, 10}, {"by"},         {"picture", false, 14},
                   {"format", false, 7},  {"load", true}, {"as SDI it needs", false, 16}};
  const std::size_t count = std::min(profile.sources.size(), demand.sources.size());
  for (std::size_t i = 0; i < count; ++i) {
    const profiles::Source& source = profile.sources[i];
    const profiles::SourceDemand& sum = demand.sources[i];
    const bool network = source.arrives_by == profiles::ArrivesBy::kNetwork;
    table.rows.push_back(
        {{source.name},
         {ArrivalWord(source.arrives_by)},
         {Picture(source.raster, source.rate)},
         {network ? source.codec : source.pixel_format},
         {network ? base::FormatBitsPerSecond(sum.network_bits_per_second)
                  : base::FormatBytesPerSecond(sum.bytes_per_second) + (sum.assumed ? " *" : "")},
         {sum.sdi_link.empty() ? "-" : sum.sdi_link}});
  }
  PutTable(page, 2, table);
  if (std::any_of(demand.sources.begin(), demand.sources.end(),
                  [](const profiles::SourceDemand& source) { return source.assumed; })) {
    page.Paragraph(2, {"* compressed by the capture device: an assumed ratio, not a sum"});
  }
}

/// "h264 4.2", marked where players commonly stop short of that level.
std::string CodecText(const profiles::Output& output, const profiles::OutputDemand& sum) {
  if (sum.level.empty()) {
    return output.codec;
  }
  return output.codec + " " + sum.level + (sum.level_commonly_played ? "" : " (!)");
}

/// "disk 775 kB/s" or "network 2.90 Mb/s".
std::string GoesTo(const profiles::OutputDemand& sum) {
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

void PutOutputs(TerminalPage& page, const profiles::Profile& profile,
                const profiles::Demand& demand) {
  page.Heading("Outputs");
  TerminalTable table;
  table.columns = {{"output", false, 12},
                   {"input", false, 7},
                   {"picture", false, 14},
                   {"codec, level", false, 12},
                   {"goes to", false, 17}};
  const std::size_t count = std::min(profile.outputs.size(), demand.outputs.size());
  for (std::size_t i = 0; i < count; ++i) {
    const profiles::Output& output = profile.outputs[i];
    const profiles::OutputDemand& sum = demand.outputs[i];
    table.rows.push_back({{output.name},
                          {output.takes},
                          {Picture(output.raster, output.rate)},
                          {CodecText(output, sum)},
                          {GoesTo(sum)}});
  }
  PutTable(page, 2, table);
  for (const profiles::OutputDemand& output : demand.outputs) {
    if (!output.shares_encode_with.empty()) {
      page.Paragraph(2, {fmt::format("{}: its encode is shared by {}", output.name,
                                     fmt::join(output.shares_encode_with, ", "))});
    }
    if (!output.level_commonly_played) {
      page.Paragraph(2, {fmt::format("(!) {}: level {} is above what players commonly take; set by "
                                     "{}",
                                     output.name, output.level, output.level_limit)});
    }
  }
}

void PutSums(TerminalPage& page, const profiles::Profile& profile, const profiles::Demand& demand) {
  page.Heading("Together");
  page.Fact("capture", base::FormatBytesPerSecond(demand.capture_bytes_per_second));
  page.Fact("network in", base::FormatBitsPerSecond(demand.network_in_bits_per_second));
  page.Fact("network out", base::FormatBitsPerSecond(demand.network_out_bits_per_second));
  page.Fact("disk", base::FormatBytesPerSecond(demand.disk_bytes_per_second));
  page.Fact("space", base::FormatBytes(demand.space_bytes) + " for " +
                         base::FormatSeconds(60.0 * profile.duration_minutes) + ", largest file " +
                         base::FormatBytes(demand.largest_file_bytes));
  page.Fact("encoding", fmt::format("{} at once; {} must be software, {} hardware",
                                    Plural(demand.encode_sessions, "session"),
                                    demand.software_encodes, demand.hardware_encodes));
  page.Fact("decoding", Plural(demand.decode_sessions, "session"));
  page.Fact("displays", FormatCount(demand.displays));
  page.Fact("memory", base::FormatBytes(demand.memory_pool_bytes) + " in frames and encoders, " +
                          base::FormatBytesPerSecond(demand.memory_traffic_bytes_per_second) +
                          " read and written");
}

}  // namespace

std::string WriteDemandText(const profiles::Profile& profile, const profiles::Demand& demand,
                            const TerminalStyle& style) {
  TerminalPage page(style);
  page.Paragraph(0, {"What " + profile.name + " needs of a PC", Tone::kStrong});
  page.Paragraph(0, {fmt::format("Programme {} for {}; calculated, nothing measured.",
                                 Picture(profile.program_raster, profile.program_rate),
                                 base::FormatSeconds(60.0 * profile.duration_minutes))});
  PutSources(page, profile, demand);
  PutOutputs(page, profile, demand);
  PutSums(page, profile, demand);
  PutCablesAndControl(page, profile, {});
  return page.text();
}

}  // namespace report
