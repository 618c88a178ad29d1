// SPDX-License-Identifier: Apache-2.0
//
// Cables and chains of camera control of a profile against published limits, as lines for people.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "profiles/demand/cable_reach.h"
#include "profiles/profile.h"
#include "report/data/document.h"

namespace report {

enum class CableFit { kWithin, kNotSure, kBeyond, kNoLimit };
std::string FitText(CableFit fit);
/// Of the finding that is made of it; nothing where none is.
std::optional<Severity> SeverityOf(CableFit fit);

struct CableLine {
  std::string source;
  std::string cable;    // "80 m of SDI coax, standard grade"
  std::string carries;  // "3G-SDI (ST 424)"
  std::string limit;    // "80 m"; empty where none is known
  std::string basis;    // "common practice: what the limit comes from"
  CableFit fit = CableFit::kNoLimit;
};

struct ChainLine {
  std::string name;
  std::string wires;    // "RS-422 at 38400 baud"
  std::string cameras;  // "1 Left, 7 Desk"
  std::string length;   // "52.5 m in all", "15 m the longest cable"
  std::string limit;
  std::string basis;
  CableFit fit = CableFit::kWithin;
};

/// Speeds that the machine tells, one entry for each source of the profile.
std::vector<profiles::NegotiatedSpeeds> CableSpeeds(const Evidence& evidence);

/// One line for each source with a cable. `speeds` as CableSpeeds gives them, or
/// empty where there is no machine.
std::vector<CableLine> CableLines(const profiles::Profile& profile,
                                  const std::vector<profiles::NegotiatedSpeeds>& speeds);
std::vector<ChainLine> ChainLines(const profiles::Profile& profile);

/// What USB 2.0 signals, 480 Mb/s, before any overhead.
inline constexpr double kUsb2CableBytesPerSecond = 60e6;
/// Whether a source's cable is for USB 2 and signals less than its pictures take.
bool CableTooSlow(const profiles::Source& source, double bytes_per_second);

}  // namespace report
