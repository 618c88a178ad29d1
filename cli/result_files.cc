#include "cli/result_files.h"

#include "base/text.h"
#include "cli/show.h"
#include "cli/write_file.h"
#include "report/writers.h"

namespace cli {

base::Status WriteResults(const report::Document& document, const std::filesystem::path& into,
                          const Options& options) {
  const auto json = into / "result.json";
  const auto html = into / "report.html";
  if (auto written = WriteFileWhole(json, report::WriteJson(document)); !written) {
    return written;
  }
  if (auto written = WriteFileWhole(html, report::WriteHtml(document)); !written) {
    return written;
  }
  if (auto shown = ShowDocument(document, options); !shown || options.json) {
    return shown;
  }
  return PrintOut("\nresult  " + base::Printable(json.string(), 4096) + "\nreport  " +
                  base::Printable(html.string(), 4096) + "\n");
}

}  // namespace cli
