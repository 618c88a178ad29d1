// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/production.h"

#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "base/rational.h"
#include "base/text.h"
#include "profiles/words.h"
#include "report/loads/cable_lines.h"
#include "report/show/rows/cables.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Table;
using show::When;

/// What arrives with the bit rate that is asked for.
std::string AskedArrivalText(const profiles::Source& source) {
  const std::string text = ArrivalText(source);
  return source.arrives_by == profiles::ArrivesBy::kNetwork
             ? fmt::format("{} at {} kb/s", text, FormatCount(source.bitrate_kbps))
             : text;
}

std::string ContentText(const profiles::Source& source) {
  const std::string word(profiles::ToWord(source.content));
  return source.content == profiles::Content::kClip ? word + " " + source.clip : word;
}

std::string EncoderText(const profiles::Output& output) {
  const std::string_view choice = output.encoder == profiles::EncoderChoice::kAny
                                      ? "any encoder"
                                      : profiles::ToWord(output.encoder);
  return fmt::format("{}, {}, {} effort", output.codec, choice, profiles::ToWord(output.effort));
}

std::string TargetText(const profiles::Output& output) {
  const std::string place =
      output.kind == profiles::OutputKind::kStream ? output.url : output.folder;
  return place.empty() ? output.container : output.container + " to " + place;
}

std::string AudioText(const profiles::Audio& audio) {
  return fmt::format("{}, {} Hz, {} kb/s", Plural(audio.channels, "channel"),
                     FormatCount(audio.sample_rate_hz), FormatCount(audio.bitrate_kbps));
}

std::string MarginsText(const profiles::Margins& margins) {
  return fmt::format(
      "CPU {}, encoder {}, disk {}, USB {}, network {}, memory {}",
      FormatMarginPercent(margins.cpu_percent), FormatMarginPercent(margins.encoder_percent),
      FormatMarginPercent(margins.disk_percent), FormatMarginPercent(margins.usb_percent),
      FormatMarginPercent(margins.network_percent), FormatMarginPercent(margins.memory_percent));
}

Table SourceTable(const profiles::Profile& profile) {
  Table table{"Sources, as the profile asks for them",
              {{"Source"}, {"Picture"}, {"Arrives by"}, {"Content"}, {"Device named"}},
              {}};
  for (const profiles::Source& source : profile.sources) {
    table.rows.push_back({{source.name},
                          {PictureText(source.raster, source.rate)},
                          {AskedArrivalText(source)},
                          {ContentText(source)},
                          {source.device.empty() ? "any" : source.device}});
  }
  return table;
}

Table OutputTable(const profiles::Profile& profile) {
  Table table{
      "Outputs, as the profile asks for them",
      {{"Output"}, {"Kind"}, {"Input"}, {"Picture"}, {"Encoder"}, {"Bit rate", true}, {"Goes to"}},
      {}};
  for (const profiles::Output& output : profile.outputs) {
    table.rows.push_back({{output.name},
                          {std::string(profiles::ToWord(output.kind))},
                          {InputText(output.takes)},
                          {PictureText(output.raster, output.rate)},
                          {EncoderText(output)},
                          {FormatCount(output.bitrate_kbps) + " kb/s"},
                          {TargetText(output)}});
  }
  return table;
}

show::Part TablePart(std::string title, Table table) {
  show::Part part{std::move(title), {}};
  if (!table.rows.empty()) {
    part.blocks.emplace_back(std::move(table));
  }
  return part;
}

}  // namespace

std::string PictureText(const profiles::Raster& raster, const base::Rational& rate) {
  return profiles::ToText(raster) + " at " + base::ToShortText(rate);
}

std::string ArrivalText(const profiles::Source& source) {
  switch (source.arrives_by) {
    case profiles::ArrivesBy::kUsb:
      return "USB, " + source.pixel_format;
    case profiles::ArrivesBy::kPcie:
      return "PCIe, " + source.pixel_format;
    case profiles::ArrivesBy::kNetwork:
      break;
  }
  return "network, " + source.codec;
}

std::string InputText(const std::string& takes) {
  return takes == profiles::kTakesProgram ? "programme" : takes;
}

show::Part ShowPart(const profiles::Profile& profile) {
  show::Facts facts;
  facts.Add("Name", profile.name, When::kDetails);
  if (!profile.note.empty()) {
    facts.Add("Note", profile.note, When::kDetails);
  }
  facts.Add("Programme", PictureText(profile.program_raster, profile.program_rate));
  facts.Add("Show length", base::FormatSeconds(60.0 * profile.duration_minutes));
  facts.Add(
      "Multiview",
      profile.multiview ? PictureText(profile.multiview->raster, profile.multiview->rate) : "none",
      When::kDetails);
  facts.Add("Audio", profile.audio ? AudioText(*profile.audio) : "none", When::kDetails);
  facts.Add("Displays", FormatCount(profile.displays), When::kDetails);
  facts.Add("Margins", MarginsText(profile.margins), When::kDetails);
  facts.Add("Drops allowed", FormatNumber(profile.margins.allowed_drops_per_hour) + " an hour",
            When::kDetails);
  return {"The show", {std::move(facts)}};
}

show::Sheet ProductionSheet(const Evidence& evidence) {
  const profiles::Profile& profile = evidence.profile;
  return {"Production",
          {},
          "",
          {ShowPart(profile), TablePart("Sources", SourceTable(profile)),
           TablePart("Outputs", OutputTable(profile)), CablesPart(profile, CableSpeeds(evidence))}};
}

}  // namespace report
