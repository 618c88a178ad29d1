// SPDX-License-Identifier: Apache-2.0

#include "cli/system/outcome.h"

#include <cstdio>
#include <new>
#include <system_error>

#include "base/text.h"
#include "profiles/demand/stream_url.h"

namespace cli {
void Complain(const std::string& line) {
  std::fprintf(stderr, "rigproof: %s\n", line.c_str());
}

std::string ErrorLine(const base::Error& error) {
  const std::string text = error.where.empty() ? error.detail : error.where + ": " + error.detail;
  return base::Printable(profiles::WithMaskedUrls(text), 2000);
}

std::string FailureLine(const std::exception& error) {
  if (dynamic_cast<const std::bad_alloc*>(&error) != nullptr) {
    return "failed: memory ran out";
  }
  // A thread that cannot be started: there are too many, or no memory for it.
  const auto* system = dynamic_cast<const std::system_error*>(&error);
  const bool no_thread =
      system != nullptr && system->code() == std::errc::resource_unavailable_try_again;
  return (no_thread ? "failed: no room for another thread: " : "failed: ") +
         base::Printable(profiles::WithMaskedUrls(error.what()), 2000);
}

int ExitStatusOf(const base::Error& error) {
  return error.kind == base::ErrorKind::kIo ? kFailed : kWrongUse;
}

int EndWith(const std::function<base::Result<int>()>& program) {
  try {
    auto status = program();
    if (!status) {
      Complain(ErrorLine(status.error()));
      return ExitStatusOf(status.error());
    }
    return *status;
  } catch (const std::exception& error) {
    // Ours do not throw: a library's surprise, or the end of memory or threads.
    Complain(FailureLine(error));
    return kFailed;
  }
}

}  // namespace cli
