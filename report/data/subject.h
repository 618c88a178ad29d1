// SPDX-License-Identifier: Apache-2.0
//
// A thing of this PC or of the production that a finding may be about.

#pragma once

#include <array>
#include <string>

#include "base/words.h"

namespace report {

enum class SubjectKind {
  kUsb,          // a port's path, "2-1.4"; a root hub's, "usb2"
  kPci,          // an address, "0000:03:00.0"
  kFolder,       // that is recorded to, as the profile names it
  kNetworkLink,  // "enp3s0"
  kOutput,       // of the profile
  kSource,       // of the profile
};

struct Subject {
  SubjectKind kind = SubjectKind::kUsb;
  std::string name;  // as the system or the profile gives it: writers escape it

  bool operator==(const Subject& other) const = default;
};

}  // namespace report

template <>
inline constexpr std::array<base::Word<report::SubjectKind>, 6> base::kWords<report::SubjectKind>{
    {{report::SubjectKind::kUsb, "usb"},
     {report::SubjectKind::kPci, "pci"},
     {report::SubjectKind::kFolder, "folder"},
     {report::SubjectKind::kNetworkLink, "network link"},
     {report::SubjectKind::kOutput, "output"},
     {report::SubjectKind::kSource, "source"}}};
