// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/capture_admission.h"

#include <algorithm>
#include <array>

#include "base/text.h"
#include "probes/line/captured_modes.h"
#include "probes/storage/captured_space.h"
#include "probes/storage/disks.h"

namespace probes {
namespace {

// What the probes read of the kernel's own tables.
constexpr auto kKernelFiles = std::to_array<std::string_view>(
    {"/proc/asound/cards", "/proc/cpuinfo", "/proc/meminfo", "/proc/net/ipv6_route",
     "/proc/net/route", "/proc/self/mountinfo", "/proc/swaps", "/proc/sys/kernel/osrelease",
     "/proc/sys/vm/swappiness", "/proc/version"});

constexpr auto kFiles = std::to_array<std::string_view>(
    {"/etc/apt/apt.conf.d/10periodic", "/etc/apt/apt.conf.d/20auto-upgrades", "/etc/os-release",
     "/etc/tuned/active_profile", "/run/chrony/chronyd.pid", "/run/ntpd.pid",
     "/run/systemd/timesync/synchronized", "/usr/lib/os-release",
     "/var/lib/power-profiles-daemon/state.ini", kCapturedDisksFile, kCapturedModesFile,
     kCapturedSpaceFile, kNullDevice});

constexpr auto kFolders = std::to_array<std::string_view>(
    {"/sys/block/", "/sys/bus/", "/sys/class/", "/sys/dev/", "/sys/devices/", "/sys/firmware/acpi/",
     "/sys/firmware/dmi/", "/sys/fs/btrfs/", "/sys/hypervisor/", "/sys/module/", "/sys/power/",
     // Units and settings of the service manager, without the sessions and users in /run.
     "/etc/systemd/", "/lib/systemd/", "/run/systemd/logind.conf.d/", "/run/systemd/sleep.conf.d/",
     "/run/systemd/system/", "/usr/lib/systemd/", "/usr/local/lib/systemd/",
     // Of the device database only devices with a number: "c81:0", "b8:1".
     "/run/udev/data/"});

template <std::size_t N>
bool IsOneOf(std::string_view word, const std::array<std::string_view, N>& words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

bool IsNumber(std::string_view text) {
  const auto number = base::ParseInt(text);
  return number && *number >= 0 && text.front() != '+';
}

/// "/proc/77/fdinfo/3": who watches files as they are opened, and what it is called.
bool IsOfWatcher(std::string_view path) {
  const auto parts = base::Split(path, '/');
  return IsOfProcess(path) && ((parts.size() == 4 && parts[3] == "comm") ||
                               (parts.size() == 5 && parts[3] == "fdinfo" && IsNumber(parts[4])));
}

}  // namespace

bool IsOfProcess(std::string_view path) {
  const auto parts = base::Split(path, '/');
  return parts.size() >= 3 && parts[0].empty() && parts[1] == "proc" && IsNumber(parts[2]);
}

bool MayBeCaptured(std::string_view path) {
  if (path.starts_with("/proc/")) {
    return IsOneOf(path, kKernelFiles) || IsOfWatcher(path);
  }
  return IsOneOf(path, kFiles) ||
         std::any_of(kFolders.begin(), kFolders.end(),
                     [&](std::string_view folder) { return path.starts_with(folder); });
}

}  // namespace probes
