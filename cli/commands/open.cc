// SPDX-License-Identifier: Apache-2.0
//
// rigproof open: the page on this PC, until Ctrl-C.

#include <condition_variable>
#include <mutex>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "cli/commands/run.h"
#include "cli/local_page/browser.h"
#include "cli/local_page/local_page.h"
#include "cli/system/interrupt.h"
#include "cli/system/show.h"
#include "cli/system/write_file.h"

namespace cli {
namespace {

std::string Greeting(const std::string& address, const std::string& folder, bool as_json) {
  if (as_json) {
    const nlohmann::ordered_json json{
        {"format", "rigproof-open"}, {"version", 1}, {"address", address}, {"folder", folder}};
    return json.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
  }
  return fmt::format(
      "The page, for a browser on this PC; its address holds the key, so hand it to nobody:\n\n"
      "  {}\n\nProfiles and results are saved in {}\nCtrl-C ends it.\n",
      address, base::Printable(folder, 4096));
}

void WaitFor(const std::stop_token& stop) {
  std::mutex mutex;
  std::condition_variable_any wake;
  std::unique_lock lock(mutex);
  wake.wait(lock, stop, [] { return false; });
}

}  // namespace

base::Result<int> RunOpen(const Options& options) {
  auto shelf = Shelf::Open(options.into.empty() ? "rigproof-result" : options.into);
  if (!shelf) {
    return shelf.error();
  }
  const std::string folder = shelf->path().string();
  const Interrupt interrupt;
  auto page = LocalPage::Start(*std::move(shelf), options.port);
  if (!page) {
    return page.error();
  }
  if (auto told = PrintOut(Greeting((*page)->Address(), folder, options.json)); !told) {
    return told.error();
  }
  std::optional<OpenedBrowser> browser;
  if (!options.json && !options.no_browser && HasDesktop()) {
    browser.emplace(folder, (*page)->Address());
  }
  WaitFor(interrupt.Token());
  const std::string result = (*page)->StopRehearsal();
  if (!result.empty()) {
    Tell(options, "ends the rehearsal; what it measured is saved as " + base::Printable(result));
  }
  page->reset();
  return 0;
}

}  // namespace cli
