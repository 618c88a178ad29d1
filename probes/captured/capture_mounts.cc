// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/capture_mounts.h"

#include <algorithm>
#include <array>
#include <optional>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/captured/private_addresses.h"
#include "probes/captured/private_paths.h"
#include "probes/procfs/mount_options.h"
#include "probes/procfs/mount_table.h"

namespace probes {
namespace {

constexpr auto kNetworkFilesystems = std::to_array<std::string_view>(
    {"nfs",       "nfs4",          "cifs",       "smb3",        "smbfs",          "ncpfs",
     "9p",        "afs",           "ceph",       "glusterfs",   "lustre",         "ocfs2",
     "gfs2",      "davfs",         "fuse.sshfs", "fuse.rclone", "fuse.glusterfs", "fuse.davfs2",
     "fuse.s3fs", "fuse.curlftpfs"});

constexpr std::string_view kShare = "share";
constexpr std::string_view kWithheld = "withheld";

/// A path as the kernel writes it into a table, spaces and the like as octal escapes.
std::string CleanWrittenPath(std::string_view written, PrivateNames& names) {
  return OctalEscapes(CleanPath(UndoOctalEscapes(written), names));
}

/// A device of this PC, a bare word, or the pool of "pool/dataset"; nothing for all that may say
/// who serves it, to whom, and by which password.
std::optional<std::string> KnownSource(std::string_view source, std::string_view filesystem,
                                       PrivateNames& names) {
  constexpr std::size_t kLongestName = 200;
  constexpr std::string_view kDevices = "/dev/";
  if (filesystem == "zfs") {
    source = source.substr(0, source.find('/'));
  }
  if (IsBareWord(source)) {
    return names.Clean(source);
  }
  // Names that udev makes of serial numbers say no more than the device's number does.
  const bool device = source.starts_with(kDevices) && !source.starts_with("/dev/disk/") &&
                      source.find("..") == std::string_view::npos &&
                      IsMadeOf(source.substr(kDevices.size()), "_-./+\\", kLongestName);
  return device
             ? std::optional(OctalEscapes(WithoutAddresses(names.Clean(UndoOctalEscapes(source)))))
             : std::nullopt;
}

std::string CleanOptions(std::string_view options, PrivateNames& names) {
  std::string clean;
  for (const std::string_view option : base::Split(options, ',')) {
    const std::string shown = ShownMountOption(option);
    const std::size_t equals = shown.find("=/");
    const std::string kept =
        equals == std::string::npos
            ? shown
            : shown.substr(0, equals + 1) + CleanWrittenPath(shown.substr(equals + 1), names);
    if (!kept.empty()) {
      clean += (clean.empty() ? "" : ",") + kept;
    }
  }
  return clean.empty() ? "rw" : clean;
}

std::string_view ReadOnlyOrNot(std::string_view options) {
  return options == "ro" || options.starts_with("ro,") ? "ro" : "rw";
}

/// https://docs.kernel.org/filesystems/proc.html, 3.5: "36 35 98:0 /mnt1 /mnt2 rw,noatime
/// master:1 - ext3 /dev/root rw,errors=continue".
std::string CleanLine(std::string_view line, PrivateNames& names, MountsLeftOut& left_out) {
  const auto words = base::SplitWords(line);
  const auto dash = std::find(words.begin(), words.end(), "-");
  if (dash - words.begin() < 6 || words.end() - dash < 3 || !IsMadeOf(words[0], "", 10) ||
      !IsMadeOf(words[1], "", 10) || !IsMadeOf(words[2], ":", 20) ||
      !IsMadeOf(dash[1], "._-", 40)) {
    return "";
  }
  // A filesystem without a source has an empty field there, which splitting loses.
  const bool sourced = words.end() - dash >= 4;
  const std::string_view options = dash[sourced ? 3 : 2];
  const bool share = std::find(kNetworkFilesystems.begin(), kNetworkFilesystems.end(), dash[1]) !=
                     kNetworkFilesystems.end();
  const auto source = sourced && !share ? KnownSource(dash[2], dash[1], names) : std::nullopt;
  const bool told = source || !sourced;
  left_out.network_shares += share ? 1 : 0;
  left_out.sources += told || share ? 0 : 1;
  std::string optional;
  for (auto word = words.begin() + 6; word != dash; ++word) {
    optional += IsMadeOf(*word, "_:", 40) ? std::string(*word) + " " : "";
  }
  const bool whole = told && !share;
  return fmt::format("{} {} {} {} {} {} {}- {} {} {}\n", words[0], words[1], words[2],
                     whole ? CleanWrittenPath(words[3], names) : "/",
                     CleanWrittenPath(words[4], names), CleanOptions(words[5], names), optional,
                     dash[1],
                     source ? *source
                            : std::string(share     ? kShare
                                          : sourced ? kWithheld
                                                    : ""),
                     whole ? CleanOptions(options, names) : std::string(ReadOnlyOrNot(options)));
}

}  // namespace

std::string CleanSwaps(std::string_view text, PrivateNames& names) {
  std::string clean;
  for (const std::string_view line : base::Split(text, '\n')) {
    const auto words = base::SplitWords(line);
    if (words.size() < 5) {
      continue;
    }
    const bool path = words[0].starts_with('/');
    clean += path ? CleanWrittenPath(words[0], names) : std::string(words[0]);
    for (auto word = words.begin() + 1; word != words.begin() + 5; ++word) {
      clean += IsMadeOf(*word, "-", 20) ? " " + std::string(*word) : " -";
    }
    clean += "\n";
  }
  return clean;
}

std::string CleanMountInfo(std::string_view text, PrivateNames& names, MountsLeftOut& left_out) {
  std::string clean;
  for (const std::string_view line : base::Split(text, '\n')) {
    clean += CleanLine(line, names, left_out);
  }
  return clean;
}

}  // namespace probes
