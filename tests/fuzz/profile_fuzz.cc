// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: the text of a profile as a whole.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "profiles/demand/demand.h"
#include "profiles/text/reader.h"

// What is taken is a profile like any other, also written and read again, and its demand can be
// worked out; what is not, says why in lines without control characters.
// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto profile = profiles::ParseProfile(text, "strange.json");
  if (!profile) {
    for (const char c : profile.error().detail) {
      if (static_cast<unsigned char>(c) < 0x20 && c != '\n') {
        std::abort();
      }
    }
    return 0;
  }
  const auto again = profiles::ParseProfile(profiles::ToJsonText(*profile), "again");
  if (!again || *again != *profile) {
    std::abort();
  }
  static_cast<void>(profiles::SumDemand(*profile));
  return 0;
}
