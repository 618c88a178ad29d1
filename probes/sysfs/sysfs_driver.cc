// SPDX-License-Identifier: Apache-2.0

#include "probes/sysfs/sysfs_driver.h"

#include <string_view>

#include "base/text.h"

namespace probes {

base::Reading<std::string> ReadDriver(const base::MachineRoot& root, const std::string& folder) {
  const auto link = root.Resolve(folder + "/driver");
  if (link) {
    return base::Printable(LastPart(*link), 64);
  }
  const auto uevent = root.Read(folder + "/uevent");
  if (!uevent) {
    return base::Reading<std::string>(base::Result<std::string>(uevent.error()));
  }
  constexpr std::string_view kKey = "DRIVER=";
  for (const std::string_view line : base::Split(*uevent, '\n')) {
    if (line.starts_with(kKey)) {
      return base::Printable(base::Trim(line.substr(kKey.size())), 64);
    }
  }
  return std::string();
}

std::string LastPart(const std::string& path) {
  return path.substr(path.rfind('/') + 1);
}

}  // namespace probes
