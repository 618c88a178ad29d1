// SPDX-License-Identifier: Apache-2.0
//
// Lengths against limits.

#include "report/loads/cable_lines.h"

#include <cstddef>

#include <fmt/format.h>

#include "profiles/demand/cable_reach.h"
#include "profiles/words.h"
#include "report/loads/network_capacity.h"
#include "report/loads/network_loads.h"
#include "report/loads/source_match.h"
#include "report/loads/usb_load.h"

namespace report {
namespace {

std::string KindText(profiles::CableKind kind) {
  switch (kind) {
    case profiles::CableKind::kSdiCoax:
      return "SDI coax";
    case profiles::CableKind::kHdmi:
      return "HDMI cable";
    case profiles::CableKind::kUsb2:
      return "USB 2 cable";
    case profiles::CableKind::kUsb3:
      return "USB 3 cable";
    case profiles::CableKind::kCat5e:
      return "Cat 5e cable";
    case profiles::CableKind::kCat6:
      return "Cat 6 cable";
    case profiles::CableKind::kCat6a:
      return "Cat 6A cable";
    default:
      return "fibre";
  }
}

std::string CableText(const profiles::Cable& cable) {
  std::string text = fmt::format("{:g} m of {}", cable.metres, KindText(cable.kind));
  if (cable.grade) {
    text += fmt::format(", {} grade", profiles::ToWord(*cable.grade));
  }
  if (cable.attenuation_db_per_100m && cable.attenuation_at_mhz) {
    text += fmt::format(", {:g} dB in 100 m at {:g} MHz", *cable.attenuation_db_per_100m,
                        *cable.attenuation_at_mhz);
  }
  return text;
}

CableFit FitOf(const profiles::Cable& cable, const profiles::CableReach& reach) {
  if (!reach.metres || !reach.beyond_metres) {
    return CableFit::kNoLimit;
  }
  if (cable.metres <= *reach.metres) {
    return CableFit::kWithin;
  }
  return cable.metres <= *reach.beyond_metres ? CableFit::kNotSure : CableFit::kBeyond;
}

std::string LimitText(const profiles::CableReach& reach) {
  if (!reach.metres || !reach.beyond_metres) {
    return "";
  }
  return *reach.metres == *reach.beyond_metres
             ? fmt::format("{:.3g} m", *reach.metres)
             : fmt::format("{:.3g} to {:.3g} m", *reach.metres, *reach.beyond_metres);
}

std::string WiresText(const profiles::ControlChain& chain) {
  const char* wires = chain.wires == profiles::ControlWires::kRs232   ? "RS-232"
                      : chain.wires == profiles::ControlWires::kRs422 ? "RS-422"
                                                                      : "RS-485";
  return fmt::format("{} at {} baud", wires, chain.speed_baud);
}

/// Of the device that was found for the source; 0 where none was.
double UsbSpeed(const probes::UsbInventory& usb, const SourceMatch& match,
                const std::string& source) {
  const MatchedSource* matched = match.Of(source);
  if (matched == nullptr || matched->device_path.empty()) {
    return 0;
  }
  const probes::UsbDevice* device = FindDevice(usb, matched->device_path);
  return device == nullptr ? 0 : device->speed_mbps;
}

}  // namespace

std::string FitText(CableFit fit) {
  switch (fit) {
    case CableFit::kWithin:
      return "within";
    case CableFit::kNotSure:
      return "not sure";
    case CableFit::kBeyond:
      return "beyond";
    default:
      return "no limit known";
  }
}

std::optional<Severity> SeverityOf(CableFit fit) {
  if (fit == CableFit::kBeyond) {
    return Severity::kWarn;
  }
  return fit == CableFit::kNotSure ? std::optional(Severity::kNote) : std::nullopt;
}

bool CableTooSlow(const profiles::Source& source, double bytes_per_second) {
  return source.cable && source.cable->kind == profiles::CableKind::kUsb2 &&
         bytes_per_second > kUsb2CableBytesPerSecond;
}

std::vector<profiles::NegotiatedSpeeds> CableSpeeds(const Evidence& evidence) {
  std::vector<profiles::NegotiatedSpeeds> speeds(evidence.profile.sources.size());
  const SourceMatch match =
      MatchUsbSources(evidence.profile, evidence.demand, evidence.inventory.usb);
  const auto loads = NetworkLoads(evidence);
  for (std::size_t i = 0; i < speeds.size(); ++i) {
    const profiles::Source& source = evidence.profile.sources[i];
    speeds[i].usb_mbps = UsbSpeed(evidence.inventory.usb, match, source.name);
    // Several links in: which of them this source's cable ends at is not told.
    if (source.arrives_by == profiles::ArrivesBy::kNetwork && loads.size() == 1 &&
        loads[0].what != nullptr && loads[0].what->speed_mbps.known()) {
      speeds[i].network_mbps = *loads[0].what->speed_mbps;
    }
  }
  return speeds;
}

std::vector<CableLine> CableLines(const profiles::Profile& profile,
                                  const std::vector<profiles::NegotiatedSpeeds>& speeds) {
  std::vector<CableLine> lines;
  for (std::size_t i = 0; i < profile.sources.size(); ++i) {
    const profiles::Source& source = profile.sources[i];
    if (!source.cable) {
      continue;
    }
    const auto reach = profiles::ReachOf(
        *source.cable, source, i < speeds.size() ? speeds[i] : profiles::NegotiatedSpeeds{});
    CableLine line;
    line.source = source.name;
    line.cable = CableText(*source.cable);
    line.carries = reach.carries;
    line.limit = LimitText(reach);
    line.basis = line.limit.empty()
                     ? reach.source
                     : fmt::format("{}: {}", profiles::BasisText(reach.basis), reach.source);
    line.fit = FitOf(*source.cable, reach);
    lines.push_back(std::move(line));
  }
  return lines;
}

std::vector<ChainLine> ChainLines(const profiles::Profile& profile) {
  std::vector<ChainLine> lines;
  for (const profiles::ControlChain& chain : profile.camera_control) {
    const profiles::ControlReach reach = profiles::ReachOf(chain);
    const double metres =
        reach.each_cable ? profiles::LongestMetres(chain) : profiles::SumMetres(chain);
    ChainLine line;
    line.name = chain.name;
    line.wires = WiresText(chain);
    for (const profiles::ControlledCamera& camera : chain.cameras) {
      line.cameras +=
          fmt::format("{}{} {}", line.cameras.empty() ? "" : ", ", camera.address, camera.source);
    }
    line.length =
        fmt::format("{:g} m {}", metres, reach.each_cable ? "the longest cable" : "in all");
    line.limit = fmt::format("{:.4g} m", reach.metres);
    line.basis = fmt::format("{}: {}", profiles::BasisText(reach.basis), reach.source);
    line.fit = metres > reach.metres ? CableFit::kBeyond : CableFit::kWithin;
    lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace report
