// SPDX-License-Identifier: Apache-2.0

#include "cli/system/result_files.h"

#include <system_error>

#include "base/text.h"
#include "cli/system/show.h"
#include "cli/system/write_file.h"
#include "report/data/writers.h"

namespace cli {

base::Status WriteResults(const report::Document& document, const std::filesystem::path& into,
                          const Options& options) {
  const auto json = into / "result.json";
  const auto html = into / "report.html";
  std::error_code failed;  // writing tells of it
  std::filesystem::create_directories(into, failed);
  auto written = WriteFileWhole(json, report::WriteJson(document));
  if (written) {
    written = WriteFileWhole(html, report::WriteHtml(document));
  }
  // Shown even when the files cannot be written: it is all that is left of the run then.
  auto shown = ShowDocument(document, options);
  if (!written) {
    return written;
  }
  if (!shown || options.json) {
    return shown;
  }
  return PrintOut("\nresult  " + base::Printable(json.string(), 4096) + "\nreport  " +
                  base::Printable(html.string(), 4096) + "\n");
}

}  // namespace cli
