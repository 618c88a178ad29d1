// SPDX-License-Identifier: Apache-2.0
//
// What of each file goes into a captured machine.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "probes/captured/capture_mounts.h"
#include "probes/captured/private_names.h"

namespace probes {

/// Counts of what was taken out, for telling people.
struct LeftOut {
  std::size_t serial_files = 0;
  std::size_t address_files = 0;
  std::size_t volume_ids = 0;
  MountsLeftOut mounts;
  std::size_t route_lines = 0;
  std::size_t strange_files = 0;  // binary, of a kind that may hold anything
};

/// The text of the file at `path` as it may leave the machine; nothing when
/// the file itself stays behind.
std::optional<std::string> CleanContent(std::string_view path, const std::string& text,
                                        PrivateNames& names, LeftOut& left_out);

/// The heading of /proc/net/route, its default routes and those to networks of no
/// place (private, shared, of one link), gateways zeroed.
std::string CleanRoutes(std::string_view text, PrivateNames& names, LeftOut& left_out);
/// The same of /proc/net/ipv6_route, next hops zeroed.
std::string CleanRoutes6(std::string_view text, PrivateNames& names, LeftOut& left_out);

/// Lines "KEY=value" of a uevent file, or "E:KEY=value" of a record of /run/udev/data, whose keys
/// tell nothing of an owner.
std::string CleanProperties(std::string_view text);

}  // namespace probes
