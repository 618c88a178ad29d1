// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: lines of progress that a rehearsal of the page's own writes.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "cli/system/progress.h"

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto record =
      cli::ParseProgressRecord(std::string_view(reinterpret_cast<const char*>(data), size));
  if (record) {
    const auto again = cli::ParseProgressRecord(cli::ToJsonLine(*record));
    if (!again || again->phase != record->phase || again->done != record->done) {
      std::abort();
    }
  }
  return 0;
}
