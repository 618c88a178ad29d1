// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/assets.h"

#include <string>

#include "cli/local_page/page_files.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

/// The page with the cautions in their place, worded as everywhere.
std::string Index() {
  constexpr std::string_view kPlace = "<!-- cautions -->";
  std::string page(page_files::kIndex);
  std::string cautions;
  for (const std::string_view caution : report::kLoadCautions) {
    cautions += "<li>" + std::string(caution) + "</li>";
  }
  return page.replace(page.find(kPlace), kPlace.size(), cautions);
}

}  // namespace

const std::vector<Asset>& Assets() {
  constexpr std::string_view kHtml = "text/html; charset=utf-8";
  constexpr std::string_view kCss = "text/css; charset=utf-8";
  constexpr std::string_view kScript = "text/javascript; charset=utf-8";
  static const std::string index = Index();
  static const std::vector<Asset> assets = {
      {"/", kHtml, index},
      {"/report.css", kCss, page_files::kReportCss},
      {"/page.css", kCss, page_files::kPageCss},
      {"/page.js", kScript, page_files::kPageJs},
      {"/elements.js", kScript, page_files::kElementsJs},
      {"/fields.js", kScript, page_files::kFieldsJs},
      {"/names.js", kScript, page_files::kNamesJs},
      {"/production.js", kScript, page_files::kProductionJs},
      {"/profile_form.js", kScript, page_files::kProfileFormJs},
      {"/rehearsal.js", kScript, page_files::kRehearsalJs},
      {"/results.js", kScript, page_files::kResultsJs},
      {"/size.js", kScript, page_files::kSizeJs},
  };
  return assets;
}

}  // namespace cli
