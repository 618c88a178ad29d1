#include "probes/capture_contents.h"

#include <algorithm>
#include <array>
#include <vector>

#include "base/text.h"
#include "probes/file_watchers.h"

namespace probes {
namespace {

template <std::size_t N>
bool IsOneOf(std::string_view word, const std::array<std::string_view, N>& words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

constexpr std::array<std::string_view, 13> kSerialFiles{
    "serial", "serial_number", "product_serial", "product_uuid", "board_serial", "chassis_serial",
    "uniq",   "unique_id",     "wwid",           "wwn",          "nguid",        "uuid",
    "cid"};
constexpr std::array<std::string_view, 3> kAddressFiles{"address", "perm_address", "broadcast"};

// Files in which host and user names turn up.
constexpr std::array<std::string_view, 7> kNameFiles{
    "name", "backing_file", "product", "manufacturer", "interface", "comm", "model_name"};

constexpr std::array<std::string_view, 10> kNetworkFilesystems{
    "nfs", "nfs4", "cifs", "smb3", "9p", "afs", "ceph", "glusterfs", "fuse.sshfs", "fuse.rclone"};

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
      if (!AllZero(words[1]) || !AllZero(words[7])) {
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
    if (!AllZero(words[0]) || !AllZero(words[1])) {
      ++left_out.route_lines;
      continue;
    }
    const std::string no_hop = ZeroDigits(words[4]);
    words[4] = no_hop;
    clean += names.CleanAddresses(Join(words, ' ')) + "\n";
  }
  return clean;
}

std::optional<std::string> CleanContent(std::string_view path, const std::string& text,
                                        PrivateNames& names, LeftOut& left_out) {
  const std::string_view name = path.substr(path.find_last_of('/') + 1);
  if (path.ends_with("/mountinfo")) {
    return CleanMountInfo(text, names, left_out);
  }
  if (path == "/proc/net/route") {
    return CleanRoutes(text, names, left_out);
  }
  if (path == "/proc/net/ipv6_route") {
    return CleanRoutes6(text, names, left_out);
  }
  if (path.starts_with("/proc/") && path.find("/fdinfo/") != std::string_view::npos) {
    return IsFanotifyGroup(text) ? std::optional(OnlyFanotifyLines(text)) : std::nullopt;
  }
  if (path.ends_with("/dm/uuid")) {
    ++left_out.volume_ids;
    return CleanMapperId(text);
  }
  if (IsOneOf(name, kSerialFiles)) {
    ++left_out.serial_files;
    return "\n";
  }
  if (IsOneOf(name, kAddressFiles) && path.find("/net/") != std::string_view::npos) {
    ++left_out.address_files;
    return "\n";
  }
  if (IsOneOf(name, kNameFiles)) {
    return names.Clean(text);
  }
  return text;
}

}  // namespace probes
