// SPDX-License-Identifier: Apache-2.0
//
// Writes the report page of the sample Document to standard output, for checks in a browser.

#include <cstdio>
#include <cstdlib>
#include <string>

#include "report/writers.h"
#include "tests/unit/report/hostile_document.h"
#include "tests/unit/report/sample_document.h"

int main(int argc, char** argv) {
  const std::string kind = argc > 1 ? argv[1] : "plain";
  const int seconds = argc > 2 ? std::atoi(argv[2]) : 60;
  report::Document document = report::SampleDocument(seconds);
  if (kind == "hostile") {
    report::FillStrings(document, report::HostileText);
  } else if (kind == "harmless") {
    report::FillStrings(document, report::HarmlessText);
  } else if (kind != "plain") {
    std::fputs("usage: render_sample_page [plain|hostile|harmless] [seconds]\n", stderr);
    return 2;
  }
  const std::string page = report::WriteHtml(document);
  return std::fwrite(page.data(), 1, page.size(), stdout) == page.size() ? 0 : 1;
}
