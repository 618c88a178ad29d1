// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: the firmware's table of memory modules, and the table without serial numbers
// that is captured of it.

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "probes/board/smbios_memory.h"

namespace {

void Require(bool holds) {
  if (!holds) {
    std::abort();
  }
}

void Check(const probes::MemoryModule& module) {
  Require(!module.size_bytes || *module.size_bytes >= 0);
  Require(!module.speed_mts || *module.speed_mts > 0);
  Require(!module.best_speed_mts || *module.best_speed_mts > 0);
  Require(!module.type || !module.type->empty());
  for (const std::string& text :
       {module.slot, module.bank, module.maker.value_or(""), module.part.value_or("")}) {
    Require(std::ranges::none_of(text, [](char c) { return c >= 0 && c < 0x20 && c != '\t'; }));
  }
}

bool Alike(const probes::MemoryModule& a, const probes::MemoryModule& b) {
  return a.slot == b.slot && a.bank == b.bank && a.size_bytes == b.size_bytes && a.type == b.type &&
         a.best_speed_mts == b.best_speed_mts && a.speed_mts == b.speed_mts && a.maker == b.maker &&
         a.part == b.part;
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view table(reinterpret_cast<const char*>(data), size);
  const auto modules = probes::ParseSmbiosMemory(table);
  Require(modules.size() <= size / 0x15);  // what a module has at least: up to its type, two zeros
  std::ranges::for_each(modules, Check);
  const std::string clean = probes::MemoryTableWithoutSerials(table);
  Require(std::ranges::equal(modules, probes::ParseSmbiosMemory(clean), Alike));
  Require(probes::MemoryTableWithoutSerials(clean) == clean);  // once is enough
  return 0;
}
