// SPDX-License-Identifier: Apache-2.0
//
// WriteHtml: the report page as one file that opens offline.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <boost/archive/iterators/base64_from_binary.hpp>
#include <boost/archive/iterators/transform_width.hpp>
#include <kainjow/mustache.hpp>

#include "report/data/writers.h"
#include "report/page_files.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/rows/demand.h"
#include "report/show/rows/machine.h"
#include "report/show/rows/production.h"
#include "report/show/rows/room.h"
#include "report/what_if/what_if.h"

namespace report {

namespace {

using kainjow::mustache::mustache;
using kainjow::mustache::partial;

int HexDigit(char digit) {
  return digit <= '9' ? digit - '0' : digit - 'a' + 10;
}

/// A SHA-256 in hex as the source expression that lets exactly that script run.
std::string ScriptHash(std::string_view hex) {
  std::string bytes;
  for (std::size_t at = 0; at + 1 < hex.size(); at += 2) {
    bytes += static_cast<char>(HexDigit(hex[at]) * 16 + HexDigit(hex[at + 1]));
  }
  using boost::archive::iterators::base64_from_binary;
  using boost::archive::iterators::transform_width;
  using Encode = base64_from_binary<transform_width<std::string::const_iterator, 6, 8>>;
  std::string text(Encode(bytes.cbegin()), Encode(bytes.cend()));
  text.append((3 - bytes.size() % 3) % 3, '=');
  return "'sha256-" + text + "'";
}

/// Quotes of ours in an attribute of ours: the one value that is not a stranger's.
std::string ScriptHashes() {
  return ScriptHash(RIGPROOF_LIBRARY_JS_SHA256) + " " + ScriptHash(RIGPROOF_PAGE_JS_SHA256) + " " +
         ScriptHash(RIGPROOF_WHAT_IF_JS_SHA256);
}

void AddTemplates(View& page) {
  const std::vector<std::pair<std::string, std::string_view>> templates{
      {"part_summary", page_files::kSummary},     {"part_facts", page_files::kFacts},
      {"part_table", page_files::kTable},         {"part_part", page_files::kPart},
      {"part_charts", page_files::kCharts},       {"part_headroom", page_files::kHeadroom},
      {"part_findings", page_files::kFindings},   {"part_wiring", page_files::kWiring},
      {"part_tree", page_files::kTree},           {"part_rehearsal", page_files::kRehearsal},
      {"part_histogram", page_files::kHistogram}, {"part_disk", page_files::kDisk},
      {"part_section", page_files::kSection},     {"part_cautions", page_files::kCautions},
      {"part_method", page_files::kMethod},       {"part_room", page_files::kRoom},
      {"part_ballast", page_files::kBallast},     {"part_whatif", page_files::kWhatIf},
      {"part_signoff", page_files::kSignOff},     {"part_see", page_files::kSee},
  };
  for (const auto& [name, text] : templates) {
    page.set(name, View(partial([text = text] { return std::string(text); })));
  }
}

void AddFixedParts(View& page) {
  page.set("script_hashes", View(ScriptHashes()));
  page.set("library_css", View(std::string(page_files::kLibraryCss)));
  page.set("library_js", View(std::string(page_files::kLibraryJs)));
  page.set("subtitle_tag", View("h4"));
  page.set("page_css", View(std::string(page_files::kPageCss)));
  page.set("print_css", View(std::string(page_files::kPrintCss)));
  page.set("page_js", View(std::string(page_files::kPageJs)));
  page.set("what_if_css", View(std::string(page_files::kWhatIfCss)));
  page.set("sign_off_css", View(std::string(page_files::kSignOffCss)));
  page.set("what_if_js", View(std::string(page_files::kWhatIfJs)));
}

View LinesView(const std::vector<std::string>& lines) {
  return lines.empty() ? View(false) : View("lines", ToView(lines));
}

/// A section of parts alone, each below its own title.
View SectionView(const std::string& id, const show::Sheet& sheet) {
  ViewList parts;
  for (const show::Part& part : sheet.parts) {
    if (!part.empty()) {
      parts.emplace_back(ToView(part));
    }
  }
  View view("id", View(id));
  view.set("name", View(sheet.name));
  view.set("lead", sheet.headline.empty() ? View(false) : View(sheet.headline));
  view.set("parts", View(parts));
  return view;
}

void AddSections(View& page, const Document& document) {
  const Evidence& evidence = document.evidence;
  page.set("title", View("rigproof: " + evidence.profile.name));
  page.set("program_version", View(evidence.program_version));
  const View summary = SummaryView(document);
  page.set("summary", summary);
  page.set("sign_off", SignOffView(document, summary));
  const auto model = MakeWhatIf(evidence);
  page.set("what_if", WhatIfView(document, model.has_value()));
  page.set("what_if_data", View(WhatIfData(model)));
  page.set("headroom", HeadroomView(document));
  page.set("ballast", BallastView(document));
  page.set("findings", FindingsView(document));
  page.set("wiring", WiringView(document));
  page.set("rehearsal", RehearsalView(document));
  page.set("room", ToView(RoomPart(document)));
  page.set("histogram", HistogramView(document));
  page.set("charts", ChartsView(document));
  page.set("chart_data", View(ChartsJson(document)));
  page.set("disk", DiskView(document));
  page.set("demand", SectionView("demand", DemandSheet(evidence.profile, evidence.demand)));
  page.set("machine",
           SectionView("machine", {"Machine", {}, "", MachineParts(evidence.inventory)}));
  page.set("production", SectionView("production", ProductionSheet(evidence)));
  page.set("cautions", LinesView(document.cautions));
  page.set("method", LinesView(document.method));
}

}  // namespace

std::string WriteHtml(const Document& document) {
  View page;
  AddTemplates(page);
  AddFixedParts(page);
  AddSections(page, document);
  mustache layout{std::string(page_files::kPage)};
  layout.set_custom_escape(EscapeForPage);
  return layout.render(page);
}

}  // namespace report
