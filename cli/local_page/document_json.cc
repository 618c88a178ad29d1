// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/document_json.h"

#include <string>
#include <utility>
#include <variant>

#include "report/assess/first_repair.h"
#include "report/fields/words.h"
#include "report/show/rows/headroom.h"
#include "report/show/rows/machine.h"
#include "report/show/size_words.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace cli {
namespace {

using report::stored::WordOf;

Json HeadroomJson(const report::Headroom& row) {
  return {{"resource", WordOf(row.resource)},
          {"item", row.item},
          {"asked", report::NeededText(row, row.unit)},
          {"there_is", report::AvailableText(row, row.unit)},
          {"spare", row.headroom_percent
                        ? report::FormatSpare(*row.headroom_percent, row.margin_percent, row.demand,
                                              row.capacity.value_or(0), row.unit)
                        : "not known"},
          {"keep", report::FormatMarginPercent(row.margin_percent)},
          {"standing", report::StandingOf(row).text},
          {"to_prove", row.how_to_prove}};
}

Json FindingJson(const report::Finding& finding) {
  return {{"severity", WordOf(finding.severity)},
          {"title", finding.title},
          {"evidence", finding.evidence},
          {"action", finding.action}};
}

Json SizedJson(const report::SizedResource& row) {
  return {
      {"what", report::SizedName(row)},
      {"now", report::FormatQuantity(row.now, row.unit)},
      {"asked", report::FormatQuantity(row.asked, row.unit)},
      {"there_is", row.capacity ? report::FormatQuantity(*row.capacity, row.unit) : "not known"},
      {"spare", report::SizedSpare(row)},
      {"keep", report::FormatMarginPercent(row.margin_percent)},
      {"sure", report::SurenessText(row.sureness)}};
}

Json RemedyJson(const report::Remedy& remedy) {
  return {{"what", remedy.what},
          {"asks_for", report::CostText(remedy.cost)},
          {"then", WordOf(remedy.verdict)},
          {"suffices", remedy.sufficient},
          {"effect", remedy.effect},
          {"changes", remedy.changes}};
}

Json PartJson(const report::show::Part& part) {
  Json lines = Json::array();
  for (const report::show::Block& block : part.blocks) {
    if (const auto* facts = std::get_if<report::show::Facts>(&block)) {
      for (const report::show::Fact& fact : facts->all()) {
        lines.push_back({{"name", fact.name}, {"text", fact.text}});
      }
    }
  }
  return {{"title", part.title}, {"lines", std::move(lines)}};
}

template <typename Row>
Json ListOf(const std::vector<Row>& rows, Json (*to_json)(const Row&)) {
  Json list = Json::array();
  for (const Row& row : rows) {
    list.push_back(to_json(row));
  }
  return list;
}

}  // namespace

Json DocumentJson(const report::Document& document) {
  const report::Finding* const first = report::FirstRepair(document);
  return {{"verdict", WordOf(document.verdict)},
          {"headline", document.first_limit},
          {"fix_first", first == nullptr ? Json() : FindingJson(*first)},
          {"headroom", ListOf(document.headroom, HeadroomJson)},
          {"findings", ListOf(document.findings, FindingJson)},
          {"machine", ListOf(report::MachineInShort(document.evidence.inventory), PartJson)}};
}

Json SizingAnswerJson(const report::Sizing& sizing) {
  Json purchases = Json::array();
  for (const report::Purchase& purchase : sizing.purchases) {
    purchases.push_back({{"text", purchase.text}, {"from", purchase.from}});
  }
  return {{"verdict", WordOf(sizing.verdict)},
          {"sure", report::SurenessText(sizing.sureness)},
          {"headline", sizing.headline},
          {"resources", ListOf(sizing.resources, SizedJson)},
          {"remedies", ListOf(sizing.remedies, RemedyJson)},
          {"purchases", std::move(purchases)},
          {"unproven", sizing.unproven},
          {"basis", sizing.basis},
          {"cautions", sizing.cautions}};
}

}  // namespace cli
