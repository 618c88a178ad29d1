// SPDX-License-Identifier: Apache-2.0

#include "probes/capture_contents.h"

#include <algorithm>
#include <array>
#include <vector>

#include "base/ip_address.h"
#include "base/text.h"
#include "probes/file_watchers.h"
#include "probes/network_routes.h"
#include "probes/usb_bos.h"

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
    {"/proc/cpuinfo", "/proc/meminfo", "/proc/stat", "/etc/os-release", "/usr/lib/os-release"});

// Binary files that are known to hold nothing private, or are cleaned.
constexpr auto kBinaryFiles = std::to_array<std::string_view>({"descriptors", "bos_descriptors"});

// Parts of keys of uevent files and udev's records.
constexpr auto kSerialKeys = std::to_array<std::string_view>(
    {"SERIAL", "UNIQ", "UUID", "WWN", "WWID", "NGUID", "EUI64", "MACADDR", "NAME_MAC"});
// Parts of those that hold texts of people; the others hold words of the kernel.
constexpr auto kTextKeys =
    std::to_array<std::string_view>({"NAME", "LABEL", "MODEL", "VENDOR", "PHYS"});
// Links of udev that are made of serial numbers and the like.
constexpr auto kSerialLinks =
    std::to_array<std::string_view>({"by-id/", "by-uuid/", "by-partuuid/", "by-diskseq/"});

constexpr auto kNetworkFilesystems = std::to_array<std::string_view>(
    {"nfs", "nfs4", "cifs", "smb3", "9p", "afs", "ceph", "glusterfs", "fuse.sshfs", "fuse.rclone"});

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

template <std::size_t N>
bool HasOneOf(std::string_view text, const std::array<std::string_view, N>& words) {
  return std::any_of(words.begin(), words.end(), [&](std::string_view word) {
    return text.find(word) != std::string_view::npos;
  });
}

/// Whether it is one route, to a network that many places have.
bool TellsNoPlace(const std::vector<NetworkRoute>& routes) {
  const auto address =
      routes.size() == 1 ? base::ParseIpAddress(routes[0].destination) : std::nullopt;
  return address && base::IsOfNoPlace(*address);
}

/// Settings of the package manager may hold names and passwords of proxies.
std::string OnlyPeriodicLines(std::string_view text) {
  std::string lines;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (base::Trim(line).starts_with("APT::Periodic::")) {
      lines += std::string(line) + "\n";
    }
  }
  return lines;
}

bool AllZero(std::string_view digits) {
  return std::all_of(digits.begin(), digits.end(), [](char c) { return c == '0'; });
}

/// "CRYPT-LUKS2-<uuid>-name" -> "CRYPT-": the part that tells the kind of device.
std::string CleanMapperId(const std::string& text) {
  return text.substr(0, text.find('-') + 1) + "\n";
}

std::string OnlyFanotifyLines(std::string_view text) {
  std::string lines;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (line.starts_with("fanotify ")) {
      lines += std::string(line) + "\n";
    }
  }
  return lines;
}

/// A network share keeps its place and kind; who serves it and as whom does not leave.
std::string CleanMountLine(std::string_view line, PrivateNames& names, LeftOut& left_out) {
  auto words = base::SplitWords(line);
  const auto dash = std::find(words.begin(), words.end(), "-");
  if (words.end() - dash < 4 || !IsOneOf(dash[1], kNetworkFilesystems)) {
    return names.Clean(line);
  }
  ++left_out.network_shares;
  dash[2] = "share";
  dash[3] = dash[3].starts_with("ro") ? "ro" : "rw";
  return names.Clean(Join(words, ' '));
}

}  // namespace

std::string CleanMountInfo(std::string_view text, PrivateNames& names, LeftOut& left_out) {
  std::string clean;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (!line.empty()) {
      clean += CleanMountLine(line, names, left_out) + "\n";
    }
  }
  return clean;
}

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
    clean += names.CleanAddresses(Join(words, '\t')) + "\n";
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
    words[4] = no_hop;
    clean += names.CleanAddresses(Join(words, ' ')) + "\n";
  }
  return clean;
}

std::string CleanProperties(std::string_view text, PrivateNames& names) {
  std::string clean;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (line.empty() || (line.starts_with("S:") && HasOneOf(line, kSerialLinks))) {
      continue;
    }
    const std::string_view key = line.substr(0, line.find('='));
    if (key.size() < line.size() && HasOneOf(key, kSerialKeys)) {
      clean += std::string(key) + "=\n";
    } else {
      const bool texts = HasOneOf(key, kTextKeys);
      clean += (texts ? names.Clean(line) : names.CleanAddresses(line)) + "\n";
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

/// Files that need more than a look at their name; nothing said for all others.
std::optional<std::string> CleanKnownText(std::string_view path, const std::string& text,
                                          PrivateNames& names, LeftOut& left_out) {
  if (path.ends_with("/mountinfo")) {
    return CleanMountInfo(text, names, left_out);
  }
  if (path == "/proc/net/route") {
    return CleanRoutes(text, names, left_out);
  }
  if (path == "/proc/net/ipv6_route") {
    return CleanRoutes6(text, names, left_out);
  }
  if (path.starts_with("/etc/apt/")) {
    return OnlyPeriodicLines(text);
  }
  if (path.ends_with("/dm/uuid")) {
    ++left_out.volume_ids;
    return CleanMapperId(text);
  }
  if (path.ends_with("/uevent") || path.starts_with("/run/udev/data/")) {
    return CleanProperties(text, names);
  }
  if (path.ends_with("/bos_descriptors")) {
    return WithoutContainerIds(text);
  }
  if (path == "/proc/cpuinfo") {
    return WithoutSerialLines(text);
  }
  return std::nullopt;
}

}  // namespace

std::optional<std::string> CleanContent(std::string_view path, const std::string& text,
                                        PrivateNames& names, LeftOut& left_out) {
  const std::string_view name = path.substr(path.find_last_of('/') + 1);
  if (path.starts_with("/proc/") && path.find("/fdinfo/") != std::string_view::npos) {
    return IsFanotifyGroup(text) ? std::optional(OnlyFanotifyLines(text)) : std::nullopt;
  }
  if (auto clean = CleanKnownText(path, text, names, left_out)) {
    return clean;
  }
  if (IsOneOf(name, kSerialFiles)) {
    ++left_out.serial_files;
    return "\n";
  }
  if (IsOneOf(name, kAddressFiles) && path.find("/net/") != std::string_view::npos) {
    ++left_out.address_files;
    return "\n";
  }
  if (text.find('\0') != std::string::npos) {
    if (IsOneOf(name, kBinaryFiles)) {
      return text;
    }
    ++left_out.strange_files;
    return std::nullopt;
  }
  if (path.starts_with("/sys/") ? IsOneOf(name, kNameFiles) : !IsOneOf(path, kNamelessFiles)) {
    return names.Clean(text);
  }
  return names.CleanAddresses(text);
}

}  // namespace probes
