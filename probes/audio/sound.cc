// SPDX-License-Identifier: Apache-2.0

#include "probes/audio/sound.h"

#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "base/text.h"
#include "probes/sysfs/device_place.h"

namespace probes {
namespace {

constexpr std::int64_t kMostCards = 255;
const std::string kClass = "/sys/class/sound";

/// The number in "card3"; nothing for anything else.
std::optional<int> CardNumber(std::string_view name) {
  const auto number = name.starts_with("card") ? base::ParseInt(name.substr(4)) : std::nullopt;
  return number && *number >= 0 && *number <= kMostCards ? std::optional(static_cast<int>(*number))
                                                         : std::nullopt;
}

/// Adds "pcmC1D0c" (records) or "pcmC1D0p" (plays) to its card.
void CountStream(std::string_view name, std::vector<SoundCard>& cards) {
  constexpr std::string_view kPrefix = "pcmC";
  const std::size_t device = name.find('D');
  if (!name.starts_with(kPrefix) || device == std::string_view::npos) {
    return;
  }
  const auto number = base::ParseInt(name.substr(kPrefix.size(), device - kPrefix.size()));
  for (SoundCard& card : cards) {
    if (number && card.number == *number) {
      card.inputs += name.ends_with('c') ? 1 : 0;
      card.outputs += name.ends_with('p') ? 1 : 0;
    }
  }
}

}  // namespace

std::map<int, std::string> ParseSoundCards(std::string_view text) {
  std::map<int, std::string> names;
  for (const std::string_view line : base::Split(text, '\n')) {
    const std::size_t bracket = line.find('[');
    const std::size_t dash = line.find(" - ");
    const auto number = bracket == std::string_view::npos
                            ? std::nullopt
                            : base::ParseInt(base::Trim(line.substr(0, bracket)));
    if (number && dash != std::string_view::npos && *number >= 0 && *number <= kMostCards) {
      names.emplace(static_cast<int>(*number),
                    base::Printable(base::Trim(line.substr(dash + 3)), 80));
    }
  }
  return names;
}

SoundInventory ReadSound(const base::MachineRoot& root) {
  SoundInventory sound;
  const auto entries = root.List(kClass);
  if (!entries) {
    sound.present = base::Reading<bool>(base::Result<bool>(entries.error()));
    return sound;
  }
  const auto names = ParseSoundCards(root.Read("/proc/asound/cards").value_or(""));
  for (const std::string& entry : *entries) {
    const auto number = CardNumber(entry);
    if (!number) {
      continue;
    }
    const std::string folder = kClass + "/" + entry;
    SoundCard card;
    card.number = *number;
    card.id = base::Printable(root.ReadTrimmed(folder + "/id").value_or(""), 40);
    const auto name = names.find(*number);
    card.name = name != names.end() ? name->second : card.id;
    DevicePlace place = PlaceOf(root.Resolve(folder).value_or(""));
    card.usb_path = std::move(place.usb_path);
    card.pci_address = std::move(place.pci_address);
    sound.cards.push_back(std::move(card));
  }
  for (const std::string& entry : *entries) {
    CountStream(entry, sound.cards);
  }
  sound.present = !sound.cards.empty();
  return sound;
}

}  // namespace probes
