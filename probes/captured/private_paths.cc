// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/private_paths.h"

#include <algorithm>
#include <array>

#include "probes/captured/private_addresses.h"

namespace probes {
namespace {

// Of the system: names of people stand in the names of drop-ins only.
constexpr auto kOfSystem =
    std::to_array<std::string_view>({"/captured/", "/dev/null", "/etc/", "/lib/", "/proc/",
                                     "/run/systemd/", "/run/udev/", "/usr/"});

// Where people's own folders lie.
constexpr auto kTops = std::to_array<std::string_view>(
    {"/home/", "/media/", "/mnt/", "/opt/", "/root/", "/run/", "/srv/", "/tmp/", "/var/"});

template <std::size_t N>
std::string_view FirstOf(std::string_view path, const std::array<std::string_view, N>& starts) {
  const auto found = std::find_if(starts.begin(), starts.end(),
                                  [&](std::string_view start) { return path.starts_with(start); });
  return found == starts.end() ? std::string_view() : *found;
}

std::string CleanPlain(std::string_view path, PrivateNames& names) {
  return WithoutAddresses(names.CleanAddresses(path));
}

std::string CleanDevicePath(std::string_view path, PrivateNames& names) {
  static constexpr std::string_view kLinks = "/net/";
  const std::size_t net = path.find(kLinks);
  if (net == std::string_view::npos) {
    const std::string clean = CleanPlain(path, names);
    return path.find("/btrfs/") != std::string_view::npos ? names.CleanUuids(clean) : clean;
  }
  const std::size_t link = net + kLinks.size();
  const std::size_t end = std::min(path.find('/', link), path.size());
  return CleanPlain(path.substr(0, link), names) +
         CleanLinkName(path.substr(link, end - link), names) + CleanPlain(path.substr(end), names);
}

std::string CleanSystemPath(std::string_view path, PrivateNames& names) {
  const std::size_t name = path.find_last_of('/') + 1;
  if (!path.substr(0, name).ends_with(".d/")) {
    return CleanPlain(path, names);
  }
  return CleanPlain(path.substr(0, name), names) + WithoutAddresses(names.Clean(path.substr(name)));
}

}  // namespace

std::string CleanPath(std::string_view path, PrivateNames& names) {
  if (path.starts_with("/sys/")) {
    return CleanDevicePath(path, names);
  }
  if (!FirstOf(path, kOfSystem).empty()) {
    return CleanSystemPath(path, names);
  }
  const std::string_view top = FirstOf(path, kTops);
  return std::string(top) + WithoutAddresses(names.Clean(path.substr(top.size())));
}

std::string CleanLinkName(std::string_view link, PrivateNames& names) {
  return WithoutAddresses(names.Clean(link));
}

}  // namespace probes
