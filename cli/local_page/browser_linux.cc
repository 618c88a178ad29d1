// SPDX-License-Identifier: Apache-2.0
//
// xdg-open(1), in a session of its own: the browser lives on.

#include "cli/local_page/browser.h"

#include <stdlib.h>
#include <unistd.h>

#include <string_view>

#include "base/system/subprocess.h"

namespace cli {

bool HasDesktop() {
  const auto is_set = [](const char* name) {
    const char* const value = getenv(name);
    return value != nullptr && *value != '\0';
  };
  return is_set("WAYLAND_DISPLAY") || is_set("DISPLAY");
}

OpenedBrowser::OpenedBrowser(const std::filesystem::path& folder, const std::string& address) {
  constexpr std::string_view kEnding = ".html";
  file_ = (folder / "rigproof-open-XXXXXX").string() + std::string(kEnding);
  const int file = mkstemps(file_.data(), static_cast<int>(kEnding.size()));  // for its owner only
  if (file < 0) {
    file_.clear();
    return;
  }
  const std::string text =
      "<!DOCTYPE html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"referrer\" "
      "content=\"no-referrer\"><meta http-equiv=\"refresh\" content=\"0; url=" +
      address + "\"><title>rigproof</title><p><a href=\"" + address +
      "\">To the page</a></p></html>\n";
  const bool written = write(file, text.data(), text.size()) == static_cast<ssize_t>(text.size());
  close(file);
  if (!written) {
    return;
  }
  starter_ = std::jthread([file_name = file_](const std::stop_token& stop) {
    // The waiting setsid alone is ended after a while; what it started is in a session of its own.
    // The shell only takes its words away from our pipes.
    [[maybe_unused]] const auto started = base::RunProgram(
        {{"setsid", "--wait", "sh", "-c", "exec xdg-open \"$0\" >/dev/null 2>&1", file_name}, 10},
        stop);
  });
}

OpenedBrowser::~OpenedBrowser() {
  if (!file_.empty()) {
    unlink(file_.c_str());
  }
}

}  // namespace cli
