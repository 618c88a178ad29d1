// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/assets.h"

#include "cli/local_page/page_files.h"

namespace cli {

const std::vector<Asset>& Assets() {
  constexpr std::string_view kHtml = "text/html; charset=utf-8";
  constexpr std::string_view kCss = "text/css; charset=utf-8";
  constexpr std::string_view kScript = "text/javascript; charset=utf-8";
  static const std::vector<Asset> assets = {
      {"/", kHtml, page_files::kIndex},
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
