// SPDX-License-Identifier: Apache-2.0
//
// The user's browser, brought to the page.

#pragma once

#include <filesystem>
#include <string>
#include <thread>

namespace cli {

/// Whether there is a desktop to show a browser on.
bool HasDesktop();

/// Opens an address in the user's browser by way of a file that only the user may read and that
/// goes on to it: on a command line every user of the PC would see the key in it. The file is
/// removed at the end.
class OpenedBrowser {
 public:
  /// The file is made in `folder`. Where no browser can be started, nothing happens: the address
  /// was printed.
  OpenedBrowser(const std::filesystem::path& folder, const std::string& address);
  ~OpenedBrowser();
  OpenedBrowser(const OpenedBrowser&) = delete;
  OpenedBrowser& operator=(const OpenedBrowser&) = delete;

 private:
  std::string file_;  // empty: none was made
  std::jthread starter_;
};

}  // namespace cli
