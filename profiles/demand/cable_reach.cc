// SPDX-License-Identifier: Apache-2.0
//
// Limits and their sources. Standards that were not opened are cited as others quote them.

#include "profiles/demand/cable_reach.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "profiles/demand/sdi_link.h"

namespace profiles {
namespace {

constexpr double kHdSdi = 1'485e6;
constexpr double k3gSdi = 2'970e6;
constexpr double k6gSdi = 5'940e6;

struct GradeReach {
  double bits_per_second;  // up to
  double mini;
  double standard;
  double low_loss;
};

// Common practice, from memory: HD about 100 to 150 m, 3G 80 to 100 m, 12G 40 to
// 70 m from the usual to the thick cable; thin cable goes about half as far as the
// usual one, and 6G lies between 3G and 12G.
constexpr std::array kCoaxReach{
    GradeReach{kHdSdi, 55, 100, 150},
    GradeReach{k3gSdi, 40, 80, 100},
    GradeReach{k6gSdi, 30, 55, 80},
    GradeReach{1e99, 22, 40, 70},
};

void SetMetres(CableReach& reach, double metres) {
  reach.metres = metres;
  reach.beyond_metres = metres;
}

double GradeMetres(const GradeReach& row, CoaxGrade grade) {
  switch (grade) {
    case CoaxGrade::kMini:
      return row.mini;
    case CoaxGrade::kLowLoss:
      return row.low_loss;
    default:
      return row.standard;
  }
}

/// The rate of the link itself: a picture of 1.2 Gb/s travels at 1.485 Gb/s.
double LinkRate(double bits_per_second) {
  for (const double rate : {kHdSdi, k3gSdi, k6gSdi}) {
    if (bits_per_second <= rate) {
      return rate;
    }
  }
  return 2 * k6gSdi;
}

CableReach CoaxReach(const Cable& cable, const Source& source) {
  CableReach reach;
  const auto link = SdiLinkFor(source.raster, source.rate);
  if (!link) {
    reach.source = "no SDI link is known for this raster and rate";
    return reach;
  }
  reach.carries = link->name;
  const double rate = LinkRate(static_cast<double>(link->bits_per_second));
  if (cable.attenuation_db_per_100m && cable.attenuation_at_mhz) {
    const double half_clock_mhz = rate / 2e6;
    const double limit_db = SdiLossLimitDb(rate);
    const LossBounds loss =
        LossPer100m(*cable.attenuation_db_per_100m, *cable.attenuation_at_mhz, half_clock_mhz);
    reach.metres = 100 * limit_db / loss.most_db;
    reach.beyond_metres = 100 * limit_db / loss.least_db;
    reach.basis = ReachBasis::kStandard;
    reach.source = fmt::format(
        "a receiver must take {:g} dB at half the clock, {:g} MHz (SMPTE, as makers of cable quote "
        "it)",
        limit_db, half_clock_mhz);
    return reach;
  }
  const auto* row =
      std::find_if(kCoaxReach.begin(), kCoaxReach.end() - 1,
                   [&](const GradeReach& one) { return rate <= one.bits_per_second; });
  SetMetres(reach, GradeMetres(*row, cable.grade.value_or(CoaxGrade::kStandard)));
  reach.source = "what the trade counts on for coax of this grade; its data sheet says more";
  return reach;
}

/// Pixel clock of the picture in MHz: an SDI link carries 20 bits for each.
double PixelClockMhz(const Source& source) {
  const auto link = SdiLinkFor(source.raster, source.rate);
  if (link) {
    return static_cast<double>(link->bits_per_second) / 20e6;
  }
  // No total raster is known: blanking of CTA-861's rasters adds a fifth to a half.
  return 1.5 * static_cast<double>(source.raster.Pixels()) * base::ToDouble(source.rate) / 1e6;
}

CableReach HdmiReach(const Source& source) {
  struct Step {
    double mhz;
    double metres;
  };
  // A converter maker's manual (public): copper without electronics in it, 15 m for
  // 1080p60 at 8 bit, 5 m at 2160p30, 3 m at 2160p60. No length is in the standard.
  static constexpr std::array kSteps{Step{148.5, 15}, Step{340, 5}, Step{1e9, 3}};
  CableReach reach;
  const double clock_mhz = PixelClockMhz(source);
  const auto* step = std::find_if(kSteps.begin(), kSteps.end() - 1,
                                  [&](const Step& one) { return clock_mhz <= one.mhz; });
  SetMetres(reach, step->metres);
  reach.carries = fmt::format("a pixel clock of {:.4g} MHz", clock_mhz);
  reach.source = "copper without electronics in it; HDMI limits loss and names no length";
  return reach;
}

CableReach UsbReach(const Cable& cable, const NegotiatedSpeeds& speeds) {
  CableReach reach;
  if (cable.kind == CableKind::kUsb2) {
    // USB 2.0 allows 26 ns in a cable, which is 5 m (from memory; hub manuals quote the 5 m).
    SetMetres(reach, 5);
    reach.basis = ReachBasis::kStandard;
    reach.carries = "480 Mb/s";
    reach.source = "USB 2.0 allows a cable delay of 26 ns, which is 5 m";
    return reach;
  }
  const bool fast = speeds.usb_mbps >= 10'000;
  SetMetres(reach, fast ? 1 : 3);
  reach.carries = fast ? "10 Gb/s and more" : "5 Gb/s";
  reach.source = "copper without electronics in it; USB 3 limits loss and names no length";
  return reach;
}

CableReach TwistedPairReach(const Cable& cable, const NegotiatedSpeeds& speeds) {
  CableReach reach;
  reach.basis = ReachBasis::kStandard;
  reach.carries = speeds.network_mbps > 0 ? fmt::format("{:g} Mb/s", speeds.network_mbps)
                                          : std::string("1000 Mb/s (speed not known)");
  const bool ten_gigabit = speeds.network_mbps >= 10'000;
  if (ten_gigabit && cable.kind == CableKind::kCat6) {
    SetMetres(reach, 55);
    reach.source = "10GBASE-T on Category 6: 55 m, 37 m beside other such cables";
  } else if (ten_gigabit && cable.kind == CableKind::kCat5e) {
    SetMetres(reach, 0);
    reach.source = "10GBASE-T is not specified on Category 5e";
  } else {
    SetMetres(reach, 100);
    reach.source = "ANSI/TIA-568: a channel of 100 m, 90 m of it laid and 10 m of cords";
  }
  return reach;
}

}  // namespace

std::string_view BasisText(ReachBasis basis) {
  return basis == ReachBasis::kStandard ? "standard" : "common practice";
}

double SdiLossLimitDb(double bits_per_second) {
  // SMPTE 292M and 424M: 20 dB at half the clock; ST 2081-1 and ST 2082-1: 40 dB
  // (as makers of cable quote them in public charts; the standards were not opened).
  return bits_per_second <= k3gSdi ? 20.0 : 40.0;
}

LossBounds LossPer100m(double db_per_100m, double at_mhz, double mhz) {
  const double ratio = mhz / at_mhz;
  const double by_root = db_per_100m * std::sqrt(ratio);
  const double by_ratio = db_per_100m * ratio;
  return {std::min(by_root, by_ratio), std::max(by_root, by_ratio)};
}

CableReach ReachOf(const Cable& cable, const Source& source, const NegotiatedSpeeds& speeds) {
  switch (cable.kind) {
    case CableKind::kSdiCoax:
      return CoaxReach(cable, source);
    case CableKind::kHdmi:
      return HdmiReach(source);
    case CableKind::kUsb2:
    case CableKind::kUsb3:
      return UsbReach(cable, speeds);
    case CableKind::kCat5e:
    case CableKind::kCat6:
    case CableKind::kCat6a:
      return TwistedPairReach(cable, speeds);
    default: {
      CableReach reach;
      reach.source = "what fibre carries depends on the modules at its ends";
      return reach;
    }
  }
}

ControlReach ReachOf(const ControlChain& chain) {
  ControlReach reach;
  if (chain.wires == ControlWires::kRs232) {
    // 2500 pF of load, at 50 pF a foot of cable, are 15 m; the length doubles as the
    // speed halves below 19200 baud (handbook pages on EIA-232).
    constexpr double kFeetOf2500Pf = 50;
    constexpr double kMetresPerFoot = 0.3048;
    constexpr double kAtBaud = 19'200;
    reach.each_cable = true;
    reach.metres = kFeetOf2500Pf * kMetresPerFoot * kAtBaud / chain.speed_baud;
    reach.source = fmt::format(
        "RS-232 drives 2500 pF, 15 m of usual cable, up to 19200 baud; the length halves as the "
        "speed doubles: {:.3g} m at {} baud",
        reach.metres, chain.speed_baud);
    return reach;
  }
  // Handbook tables of TIA-422 and TIA-485: 1200 m of terminated 24 AWG twisted
  // pair up to 100 kbit/s; beyond, length times speed stays.
  constexpr double kLongest = 1200;
  constexpr double kAtBaud = 100'000;
  reach.metres = kLongest * std::min(1.0, kAtBaud / chain.speed_baud);
  reach.basis = ReachBasis::kStandard;
  reach.source = fmt::format(
      "{} on 24 AWG twisted pair with its end terminated: {:.4g} m for the whole chain at {} baud",
      chain.wires == ControlWires::kRs422 ? "TIA-422" : "TIA-485", reach.metres, chain.speed_baud);
  return reach;
}

double SumMetres(const ControlChain& chain) {
  return std::accumulate(chain.cameras.begin(), chain.cameras.end(), 0.0,
                         [](double sum, const auto& camera) { return sum + camera.cable_metres; });
}

double LongestMetres(const ControlChain& chain) {
  double longest = 0;
  for (const ControlledCamera& camera : chain.cameras) {
    longest = std::max(longest, camera.cable_metres);
  }
  return longest;
}

}  // namespace profiles
