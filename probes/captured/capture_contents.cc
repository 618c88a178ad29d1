// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/capture_contents.h"

#include <algorithm>
#include <array>
#include <vector>

#include "base/ip_address.h"
#include "base/text.h"
#include "probes/board/smbios_memory.h"
#include "probes/captured/capture_mounts.h"
#include "probes/captured/private_addresses.h"
#include "probes/captured/private_paths.h"
#include "probes/network/routes.h"
#include "probes/pci_gpu/edid.h"
#include "probes/settings/file_watchers.h"
#include "probes/settings/unit_files.h"
#include "probes/usb/bos.h"

namespace probes {
namespace {

template <std::size_t N>
bool IsOneOf(std::string_view word, const std::array<std::string_view, N>& words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

// What only one device, board, system or start of the system has.
constexpr std::array<std::string_view, 29> kSerialFiles{"serial",
                                                        "serial_number",
                                                        "serial_no",
                                                        "product_serial",
                                                        "product_uuid",
                                                        "uniq",
                                                        "board_serial",
                                                        "chassis_serial",
                                                        "chassis_asset_tag",
                                                        "board_asset_tag",
                                                        "unique_id",
                                                        "wwid",
                                                        "wwn",
                                                        "nguid",
                                                        "eui",
                                                        "uuid",
                                                        "cid",
                                                        "machine-id",
                                                        "boot_id",
                                                        "node_guid",
                                                        "vpd_pg80",
                                                        "vpd_pg83",
                                                        "sys_image_guid",
                                                        "port_name",
                                                        "node_name",
                                                        "edid",
                                                        "phys_switch_id",
                                                        "phys_port_id",
                                                        "ssid"};
constexpr auto kAddressFiles =
    std::to_array<std::string_view>({"address", "perm_address", "broadcast", "bssid"});

// Files of /sys in which host and user names turn up.
constexpr auto kNameFiles = std::to_array<std::string_view>(
    {"name", "backing_file", "product", "manufacturer", "interface", "comm", "model_name", "label",
     "ifalias", "description", "phys"});

// Texts outside /sys that hold figures, or names of systems that hosts are called by, too.
constexpr auto kNamelessFiles = std::to_array<std::string_view>(
    {"/proc/cpuinfo", "/proc/meminfo", "/etc/os-release", "/usr/lib/os-release"});

// Binary files that are known to hold nothing private, or are cleaned.
constexpr auto kBinaryFiles = std::to_array<std::string_view>({"descriptors", "bos_descriptors"});

// Keys of uevent files and udev's records that a probe reads or that tell what a device is; the
// others hold serial numbers, addresses, names and whatever a rule of the owner's put there.
constexpr auto kPropertyKeys =
    std::to_array<std::string_view>({"DRIVER", "DEVTYPE", "PCI_CLASS", "PCI_ID", "PCI_SUBSYS_ID",
                                     "PCI_SLOT_NAME", "E:ID_V4L_CAPABILITIES"});
// Ends of "E:MEMORY_DEVICE_0_SIZE" and the like that a probe reads; serial numbers are none.
constexpr auto kMemoryKeys = std::to_array<std::string_view>(
    {"SIZE", "PRESENT", "LOCATOR", "BANK_LOCATOR", "TYPE", "SPEED_MTS", "CONFIGURED_SPEED_MTS",
     "MANUFACTURER", "PART_NUMBER"});

std::string Join(const std::vector<std::string_view>& words, char separator) {
  std::string joined;
  for (const std::string_view word : words) {
    joined += (joined.empty() ? "" : std::string(1, separator)) + std::string(word);
  }
  return joined;
}

std::string ZeroDigits(std::string_view text) {
  return std::string(text.size(), '0');
}

/// Whether it is one route, to a network that many places have.
bool TellsNoPlace(const std::vector<NetworkRoute>& routes) {
  const auto address =
      routes.size() == 1 ? base::ParseIpAddress(routes[0].destination) : std::nullopt;
  return address && base::IsOfNoPlace(*address);
}

/// Settings of the package manager may hold names and passwords of proxies, and anything in
/// comments.
std::string OnlyPeriodicStatements(std::string_view text) {
  std::string statements;
  for (const std::string_view line : base::Split(text, '\n')) {
    const std::string_view statement = base::Trim(line.substr(0, line.find(';')));
    if (statement.starts_with("APT::Periodic::")) {
      statements += std::string(statement) + ";\n";
    }
  }
  return statements;
}

std::string OnlyPrettyName(std::string_view text) {
  for (const std::string_view line : base::Split(text, '\n')) {
    if (base::Trim(line).starts_with("PRETTY_NAME=")) {
      return std::string(line) + "\n";
    }
  }
  return "\n";
}

/// "Linux version 6.1.0": who built it, and where, comes behind.
std::string OnlyRelease(std::string_view text) {
  auto words = base::SplitWords(text);
  words.resize(std::min<std::size_t>(words.size(), 3));
  return Join(words, ' ') + "\n";
}

bool AllZero(std::string_view digits) {
  return std::all_of(digits.begin(), digits.end(), [](char c) { return c == '0'; });
}

/// "CRYPT-LUKS2-<uuid>-name" -> "CRYPT-": the part that tells the kind of device.
std::string CleanMapperId(const std::string& text) {
  return text.substr(0, text.find('-') + 1) + "\n";
}

/// The line that tells of the group itself, without what it watches.
std::string OnlyFanotifyGroup(std::string_view text) {
  for (const std::string_view line : base::Split(text, '\n')) {
    if (line.starts_with("fanotify flags:")) {
      return std::string(line) + "\n";
    }
  }
  return "fanotify \n";
}

bool TellsOfMemory(std::string_view key) {
  constexpr std::string_view kStart = "E:MEMORY_DEVICE_";
  const std::size_t joint = key.find('_', std::min(kStart.size(), key.size()));
  return key.starts_with(kStart) && joint != std::string_view::npos &&
         IsOneOf(key.substr(joint + 1), kMemoryKeys);
}

}  // namespace

std::string CleanRoutes(std::string_view text, PrivateNames& names, LeftOut& left_out) {
  std::string clean;
  for (const std::string_view line : base::Split(text, '\n')) {
    auto words = base::SplitWords(line);
    if (words.size() < 8) {
      continue;
    }
    if (words[0] != "Iface") {
      const bool is_default = AllZero(words[1]) && AllZero(words[7]);
      if (!is_default && !TellsNoPlace(ParseRoutes(line))) {
        ++left_out.route_lines;
        continue;
      }
      words[2] = "00000000";
    }
    const std::string link = CleanLinkName(words[0], names);
    words[0] = link;
    clean += Join(words, '\t') + "\n";
  }
  return clean;
}

std::string CleanRoutes6(std::string_view text, PrivateNames& names, LeftOut& left_out) {
  std::string clean;
  for (const std::string_view line : base::Split(text, '\n')) {
    auto words = base::SplitWords(line);
    if (words.size() != 10) {
      continue;
    }
    if ((!AllZero(words[0]) || !AllZero(words[1])) && !TellsNoPlace(ParseRoutes6(line))) {
      ++left_out.route_lines;
      continue;
    }
    const std::string no_hop = ZeroDigits(words[4]);
    const std::string link = CleanLinkName(words[9], names);
    words[4] = no_hop;
    words[9] = link;
    clean += Join(words, ' ') + "\n";
  }
  return clean;
}

std::string CleanProperties(std::string_view text) {
  std::string clean;
  for (const std::string_view line : base::Split(text, '\n')) {
    const std::string_view key = line.substr(0, line.find('='));
    if (IsOneOf(key, kPropertyKeys) || TellsOfMemory(key)) {
      clean += std::string(line) + "\n";
    }
  }
  return clean;
}

namespace {

/// Lines such as "Serial : 0123" of the processor's own number, on some ARM machines.
std::string WithoutSerialLines(std::string_view text) {
  std::string lines;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (!line.starts_with("Serial")) {
      lines += (lines.empty() ? "" : "\n") + std::string(line);
    }
  }
  return lines;
}

std::string FirstWord(std::string_view text) {
  const auto words = base::SplitWords(text);
  return words.empty() ? "\n" : std::string(words.front()) + "\n";
}

/// Files of a service manager, and of what keeps its choices in the same form.
bool HoldsSettings(std::string_view path) {
  return path.find("/systemd/") != std::string_view::npos ? !path.starts_with("/sys/")
                                                          : path.ends_with(".ini");
}

/// Files of which only what is known to be read goes on; nothing said for all others.
std::optional<std::string> OnlyWhatIsRead(std::string_view path, std::string_view text) {
  if (path.starts_with("/etc/apt/")) {
    return OnlyPeriodicStatements(text);
  }
  if (path.ends_with("/os-release")) {
    return OnlyPrettyName(text);
  }
  if (path == "/proc/version") {
    return OnlyRelease(text);
  }
  if (path == "/etc/tuned/active_profile") {
    return FirstWord(text);
  }
  if (path.starts_with("/run/") && (path.ends_with(".pid") || path.ends_with("/synchronized"))) {
    return "\n";  // tells by being there
  }
  if (HoldsSettings(path)) {
    return KnownSettingsOf(text);
  }
  if (path.ends_with("/uevent") || path.starts_with("/run/udev/data/")) {
    return CleanProperties(text);
  }
  if (path == "/proc/cpuinfo") {
    return WithoutSerialLines(text);
  }
  return std::nullopt;
}

/// Files that need more than a look at their name; nothing said for all others.
std::optional<std::string> CleanKnownText(std::string_view path, const std::string& text,
                                          PrivateNames& names, LeftOut& left_out) {
  if (path.ends_with("/mountinfo")) {
    return CleanMountInfo(text, names, left_out.mounts);
  }
  if (path == "/proc/swaps") {
    return CleanSwaps(text, names);
  }
  if (path == "/proc/net/route") {
    return CleanRoutes(text, names, left_out);
  }
  if (path == "/proc/net/ipv6_route") {
    return CleanRoutes6(text, names, left_out);
  }
  if (path.ends_with("/dm/uuid")) {
    ++left_out.volume_ids;
    return CleanMapperId(text);
  }
  if (path == "/sys/firmware/dmi/tables/DMI") {
    return MemoryTableWithoutSerials(text);
  }
  if (path.ends_with("/edid")) {
    return EdidWithoutSerials(text);
  }
  return std::nullopt;
}

bool IsMadeOf(std::string_view text, std::string_view characters) {
  return text.find_first_not_of(characters) == std::string_view::npos;
}

/// A version of four numbers looks like an address, and is none where versions stand.
bool IsVersion(std::string_view path, std::string_view name, std::string_view text) {
  static constexpr auto kNames = std::to_array<std::string_view>({"version", "release", "_rev"});
  static constexpr std::string_view kFigures = "0123456789.";
  static constexpr std::string_view kOfKernels =
      "0123456789.abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ-_+~ ";
  if (path == "/proc/sys/kernel/osrelease" || path == "/proc/version") {
    return IsMadeOf(base::Trim(text), kOfKernels);
  }
  return path.starts_with("/sys/") && IsMadeOf(base::Trim(text), kFigures) &&
         std::any_of(kNames.begin(), kNames.end(), [&](std::string_view part) {
           return name.find(part) != std::string_view::npos;
         });
}

/// Files of one device, link or system; nothing said for all others.
bool IsLeftEmpty(std::string_view path, std::string_view name, LeftOut& left_out) {
  if (IsOneOf(name, kSerialFiles)) {
    ++left_out.serial_files;
    return true;
  }
  const bool address = IsOneOf(name, kAddressFiles) && path.find("/net/") != std::string_view::npos;
  left_out.address_files += address ? 1 : 0;
  return address;
}

}  // namespace

std::optional<std::string> CleanContent(std::string_view path, const std::string& text,
                                        PrivateNames& names, LeftOut& left_out) {
  const std::string_view name = path.substr(path.find_last_of('/') + 1);
  if (path.starts_with("/proc/") && path.find("/fdinfo/") != std::string_view::npos) {
    return IsFanotifyGroup(text) ? std::optional(OnlyFanotifyGroup(text)) : std::nullopt;
  }
  if (auto clean = CleanKnownText(path, text, names, left_out)) {
    return clean;
  }
  if (path.ends_with("/bos_descriptors")) {
    return WithoutContainerIds(text);
  }
  if (IsLeftEmpty(path, name, left_out)) {
    return "\n";
  }
  const std::string read = OnlyWhatIsRead(path, text).value_or(text);
  if (read.find('\0') != std::string::npos) {
    if (IsOneOf(name, kBinaryFiles)) {
      return read;
    }
    ++left_out.strange_files;
    return std::nullopt;
  }
  const bool nameless =
      path.starts_with("/sys/") ? !IsOneOf(name, kNameFiles) : IsOneOf(path, kNamelessFiles);
  const std::string clean = nameless ? names.CleanAddresses(read) : names.Clean(read);
  return IsVersion(path, name, clean) ? clean : WithoutAddresses(clean);
}

}  // namespace probes
