// SPDX-License-Identifier: Apache-2.0
//
// Resources of a changed production: the CPU with its interval, and all that arithmetic gives.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/cpu/size_cpu.h"
#include "report/headroom/cpu_room.h"
#include "report/predict/size.h"

namespace report {

/// What a stored result says of the CPU, worked out once for all that is asked about.
struct CpuBasis {
  std::string lacking;           // why nothing can be said; empty where something can
  std::optional<ScaledCpu> now;  // parts of the production as it is
  std::optional<CpuRoom> room;
  bool permitted = false;  // it dropped no more than its profile permits
  bool dropped = false;    // it dropped something
  // Nothing is sure where this is not empty: the run dropped frames, or the PC was not quiet.
  std::string unfair;
};
CpuBasis CpuBasisOf(const Evidence& evidence);

/// Sizes one changed production after the other. Borrows the evidence: it lives no longer.
class Sizer {
 public:
  explicit Sizer(const Evidence& evidence);

  SizedProduction Size(const profiles::Profile& changed) const;

  const Evidence& evidence() const { return evidence_; }
  const CpuBasis& cpu() const { return cpu_; }

 private:
  const Evidence& evidence_;
  Evidence light_;  // without its series
  CpuBasis cpu_;
  std::vector<Headroom> now_;  // rows of the production as it was
};

/// CPU, speed and the threads that cannot be shared; sets cpus, speed and assumed too. Says in
/// `unproven` what the result lacks.
void SizeCpu(const Evidence& evidence, const CpuBasis& basis, const profiles::Profile& changed,
             SizedProduction& sized);

/// What the figures of a sizing rest on, a line each.
std::vector<std::string> SizingBasis(const Sizer& sizer);

/// Why the CPU is unproven for a part that nothing measured tells of.
std::string NotToldText(const std::string& part);
inline constexpr char kDropsAsItIs[] =
    "cpu: the production drops frames as it is, and nothing shows that its CPU or its speed is "
    "why; mend that first (its findings say what)";

/// Stages that one thread does, however many CPUs there are; below that many CPUs nobody asks.
bool OneThread(bench::Stage stage);
inline constexpr double kThreadWorthSaying = 0.5;
inline constexpr char kByOneThread[] = "one thread does it, whatever else is free";

/// Memory, disks, space, encoders, network and links; `light` is without series, `now` its rows.
void SizeOthers(const Evidence& light, const std::vector<Headroom>& now,
                const profiles::Profile& changed, SizedProduction& sized);

/// Share that a capacity may be off by, either way: a measured disk is good for what it sustained,
/// give or take what its windows told (assumed); 0 for the rest.
double CapacitySpread(const SizedResource& row);

/// USB ports for sources that no device was found for.
void SizeUsb(const Evidence& light, const profiles::Profile& changed, SizedProduction& sized);

/// kSure where both ends of the interval are on the side of 0 that is expected. JudgeSized() takes
/// it back where the run was no fair test.
Sureness SurenessOf(const SizedResource& row);
bool Over(const SizedResource& row);
bool Below(const SizedResource& row);  // its margin, or over

/// Orders the rows; their verdict, as the assessment would give it, and how sure it is.
void JudgeSized(const CpuBasis& cpu, SizedProduction& sized);

}  // namespace report
