// SPDX-License-Identifier: Apache-2.0
//
// The parts of a report that show what findings rest on.

#pragma once

#include <array>

#include "base/words.h"

namespace report {

enum class ReportPart {
  kProduction,
  kDemand,
  kMachine,
  kWiring,
  kDiskRun,
  kRehearsal,
  kOverTime,  // the rehearsal second by second
  kDrops,
};

}  // namespace report

template <>
inline constexpr std::array<base::Word<report::ReportPart>, 8> base::kWords<report::ReportPart>{
    {{report::ReportPart::kProduction, "production"},
     {report::ReportPart::kDemand, "demand"},
     {report::ReportPart::kMachine, "machine"},
     {report::ReportPart::kWiring, "wiring"},
     {report::ReportPart::kDiskRun, "disk"},
     {report::ReportPart::kRehearsal, "rehearsal"},
     {report::ReportPart::kOverTime, "over time"},
     {report::ReportPart::kDrops, "drops"}}};
