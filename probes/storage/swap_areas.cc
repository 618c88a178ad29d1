// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/swap_areas.h"

#include <string>

#include "base/text.h"
#include "probes/procfs/mount_table.h"
#include "probes/storage/block_layers.h"

namespace probes {
namespace {

constexpr std::int64_t kMostKib = INT64_MAX / 1024;

std::int64_t BytesOfKib(std::string_view text) {
  const auto kib = base::ParseInt(text);
  return kib && *kib > 0 && *kib <= kMostKib ? *kib * 1024 : 0;
}

std::vector<std::string> DisksBelow(const base::MachineRoot& root, const std::vector<Mount>& mounts,
                                    const SwapArea& area) {
  BlockStack stack;
  if (area.kind == "file") {
    const Mount* mount = FindMount(mounts, area.name);
    if (mount != nullptr) {
      stack = ReadBlockStack(root, mounts, *mount);
    }
  } else {
    stack = ReadDeviceStack(root, mounts, area.name);
  }
  std::vector<std::string> disks;
  for (const BlockLayer& layer : stack.layers) {
    if (layer.kind == "disk") {
      disks.push_back(layer.name);
    }
  }
  return disks;
}

}  // namespace

std::vector<SwapArea> ParseSwaps(std::string_view text) {
  std::vector<SwapArea> areas;
  for (const std::string_view line : base::Split(text, '\n')) {
    // Filename Type Size Used Priority; spaces in names are octal escapes
    const auto words = base::SplitWords(line);
    if (words.size() < 5 || !words[0].starts_with('/')) {
      continue;
    }
    SwapArea area;
    area.name = base::Printable(UndoOctalEscapes(words[0]));
    area.kind = base::Printable(words[1], 20);
    area.size_bytes = BytesOfKib(words[2]);
    area.used_bytes = BytesOfKib(words[3]);
    areas.push_back(std::move(area));
  }
  return areas;
}

base::Reading<std::vector<SwapArea>> ReadSwapAreas(const base::MachineRoot& root) {
  const auto text = root.Read("/proc/swaps");
  if (!text) {
    return base::Result<std::vector<SwapArea>>(text.error());
  }
  std::vector<SwapArea> areas = ParseSwaps(*text);
  if (areas.empty()) {
    return areas;
  }
  const std::vector<Mount> mounts =
      ParseMountInfo(root.Read("/proc/self/mountinfo", 16 << 20).value_or(""));
  for (SwapArea& area : areas) {
    area.disks = DisksBelow(root, mounts, area);
  }
  return areas;
}

}  // namespace probes
