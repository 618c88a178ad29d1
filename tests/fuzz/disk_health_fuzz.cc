// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: what disks tell of their health. The first byte chooses: NVMe's log, pages of
// ATA's statistics, the registers in a disk's sense data, wear of an eMMC, lines of a captured
// machine.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "probes/storage/disk_health.h"

namespace {

using Text = std::string_view;

void Require(bool holds) {
  if (!holds) {
    std::abort();
  }
}

/// What is captured of it comes back as it was; what is unknown stays so.
void Check(const probes::DiskHealth& health) {
  Require(!health.temperature_c || std::abs(*health.temperature_c) <= 1000);
  Require(!health.wear_percent || *health.wear_percent >= 0);
  Require(!health.spare_percent || *health.spare_percent >= 0);
  Require(!health.powered_hours || *health.powered_hours >= 0);
  Require(!health.written_bytes || *health.written_bytes >= 0);
  Require(!health.media_errors || *health.media_errors >= 0);
  const probes::DiskHealth back =
      probes::FindCapturedHealth(probes::CapturedHealthLine("sda", health), "sda");
  const auto alike = [](const auto& a, const auto& b) {
    return a.known() == b.known() && (!a || *a == *b);
  };
  Require(alike(back.sound, health.sound) && alike(back.temperature_c, health.temperature_c) &&
          alike(back.wear_percent, health.wear_percent) &&
          alike(back.spare_percent, health.spare_percent) &&
          alike(back.powered_hours, health.powered_hours) &&
          alike(back.written_bytes, health.written_bytes) &&
          alike(back.media_errors, health.media_errors));
}

std::vector<std::string> Pages(Text bytes) {
  constexpr std::size_t kPageBytes = 512;
  std::vector<std::string> pages;
  for (; !bytes.empty(); bytes.remove_prefix(std::min(kPageBytes, bytes.size()))) {
    pages.emplace_back(bytes.substr(0, kPageBytes));
  }
  return pages;
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  const Text bytes(reinterpret_cast<const char*>(data + 1), size - 1);
  switch (data[0] % 5) {
    case 0:
      Check(probes::ParseNvmeHealth(bytes));
      break;
    case 1:
      Check(probes::ParseAtaStatistics(Pages(bytes)));
      break;
    case 2: {
      const auto sound = probes::ParseAtaSound(bytes);
      Require(sound.known() != !sound.why_unknown().empty());
      break;
    }
    case 3: {
      const auto worse = probes::ParseMmcLife(bytes);
      Require(!worse || (*worse >= 10 && *worse <= 110));
      break;
    }
    default:
      Check(probes::FindCapturedHealth(bytes, "sda"));
      break;
  }
  return 0;
}
