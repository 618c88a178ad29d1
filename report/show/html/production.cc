// SPDX-License-Identifier: Apache-2.0
//
// The production profile on the report page, as it was asked for.

#include <string>
#include <string_view>

#include <fmt/format.h>

#include "base/rational.h"
#include "base/text.h"
#include "profiles/words.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {

namespace {

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
  return fmt::format("network, {} at {} kb/s", source.codec, FormatCount(source.bitrate_kbps));
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

std::string Target(const profiles::Output& output) {
  const std::string place =
      output.kind == profiles::OutputKind::kStream ? output.url : output.folder;
  return place.empty() ? output.container : output.container + " to " + place;
}

show::Facts ProductionFacts(const profiles::Profile& profile) {
  show::Facts facts;
  facts.Add("Name", profile.name);
  if (!profile.note.empty()) {
    facts.Add("Note", profile.note);
  }
  facts.Add("Show length", base::FormatSeconds(60.0 * profile.duration_minutes));
  facts.Add("Programme", PictureText(profile.program_raster, profile.program_rate));
  facts.Add("Multiview", profile.multiview
                             ? PictureText(profile.multiview->raster, profile.multiview->rate)
                             : std::string("none"));
  facts.Add("Audio", profile.audio
                         ? fmt::format("{} channels, {} Hz, {} kb/s", profile.audio->channels,
                                       FormatCount(profile.audio->sample_rate_hz),
                                       FormatCount(profile.audio->bitrate_kbps))
                         : std::string("none"));
  facts.Add("Displays", std::to_string(profile.displays));
  const profiles::Margins& margins = profile.margins;
  facts.Add("Margins", fmt::format("CPU {}, encoder {}, disk {}, USB {}, network {}, memory {}",
                                   FormatMarginPercent(margins.cpu_percent),
                                   FormatMarginPercent(margins.encoder_percent),
                                   FormatMarginPercent(margins.disk_percent),
                                   FormatMarginPercent(margins.usb_percent),
                                   FormatMarginPercent(margins.network_percent),
                                   FormatMarginPercent(margins.memory_percent)));
  facts.Add("Dropped frames allowed", FormatNumber(margins.allowed_drops_per_hour) + " an hour");
  return facts;
}

Table SourceTable(const profiles::Profile& profile) {
  Table table{"Sources",
              {{"Source", false},
               {"Picture", false},
               {"Arrives by", false},
               {"Content", false},
               {"Device named", false}},
              {}};
  for (const profiles::Source& source : profile.sources) {
    table.rows.push_back({{source.name},
                          {PictureText(source.raster, source.rate)},
                          {ArrivalText(source)},
                          {ContentText(source)},
                          {source.device.empty() ? std::string("any") : source.device}});
  }
  return table;
}

Table OutputTable(const profiles::Profile& profile) {
  Table table{"Outputs",
              {{"Output", false},
               {"Kind", false},
               {"Input", false},
               {"Picture", false},
               {"Encoder", false},
               {"Bit rate", true},
               {"Goes to", false}},
              {}};
  for (const profiles::Output& output : profile.outputs) {
    table.rows.push_back({{output.name},
                          {std::string(profiles::ToWord(output.kind))},
                          {output.takes},
                          {PictureText(output.raster, output.rate)},
                          {EncoderText(output)},
                          {FormatCount(output.bitrate_kbps) + " kb/s"},
                          {Target(output)}});
  }
  return table;
}

}  // namespace

View ProductionView(const Document& document) {
  const profiles::Profile& profile = document.evidence.profile;
  View view("facts_of_production", ToView(ProductionFacts(profile)));
  view.set("sources", ToView(SourceTable(profile)));
  view.set("outputs", ToView(OutputTable(profile)));
  PutCables(document, view);
  return view;
}

}  // namespace report
