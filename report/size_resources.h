// SPDX-License-Identifier: Apache-2.0
//
// Resources of a changed production: the CPU with its interval, and all that arithmetic gives.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/cpu_model.h"
#include "report/cpu_room.h"
#include "report/size.h"

namespace report {

/// What a stored result says of the CPU, worked out once for all that is asked about.
struct CpuBasis {
  std::string lacking;  // why nothing can be said; empty where something can
  std::optional<CpuModel> model;
  std::optional<CpuRoom> room;
  bool permitted = false;  // it dropped no more than its profile permits
  bool dropped = false;    // it dropped something
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

/// Memory, disks, space, encoders, network and links; `light` is without series, `now` its rows.
void SizeOthers(const Evidence& light, const std::vector<Headroom>& now,
                const profiles::Profile& changed, SizedProduction& sized);

/// USB ports for sources that no device was found for.
void SizeUsb(const Evidence& light, const profiles::Profile& changed, SizedProduction& sized);

/// kSure where both ends of the interval are on the side of 0 that is expected.
Sureness SurenessOf(const SizedResource& row);
bool Over(const SizedResource& row);
bool Below(const SizedResource& row);  // its margin, or over

/// The verdict of these rows, as the assessment would give it, and how sure it is.
void JudgeSized(const CpuBasis& cpu, SizedProduction& sized);

}  // namespace report
