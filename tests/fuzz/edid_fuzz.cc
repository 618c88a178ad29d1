// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: what a display tells of itself, and the part of it that is captured.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <numeric>
#include <string>
#include <string_view>

#include "probes/pci_gpu/edid.h"

namespace {

constexpr std::size_t kBlockBytes = 128;

void Require(bool holds) {
  if (!holds) {
    std::abort();
  }
}

unsigned Sum(std::string_view block) {
  return std::accumulate(block.begin(), block.end(), 0U, [](unsigned sum, char byte) {
    return sum + static_cast<std::uint8_t>(byte);
  });
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const probes::EdidFacts facts = probes::ParseEdid(bytes);
  Require(facts.raster.known() == facts.refresh_hz.known());
  Require(!facts.refresh_hz || (std::isfinite(*facts.refresh_hz) && *facts.refresh_hz > 0));
  Require(!facts.name || !facts.name->empty());
  Require(std::ranges::none_of(facts.name.value_or(""),
                               [](char c) { return c >= 0 && c < 0x20 && c != '\t'; }));
  const std::string clean = probes::EdidWithoutSerials(bytes);
  Require(clean.empty() || (clean.size() == kBlockBytes && Sum(clean) % 256 == 0));
  if (!clean.empty()) {
    const probes::EdidFacts again = probes::ParseEdid(clean);
    Require(again.name == facts.name && again.raster == facts.raster &&
            again.refresh_hz == facts.refresh_hz);
  }
  Require(probes::EdidWithoutSerials(clean) == clean);  // once is enough
  return 0;
}
