// SPDX-License-Identifier: Apache-2.0
//
// What every part of the production takes of the CPU, and what one more source would take.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "profiles/text/growth.h"
#include "report/data/document.h"
#include "report/data/untold_part.h"

namespace report {

struct CpuPart {
  bench::Stage stage = bench::Stage::kNone;
  std::string item;  // the source, the output, or all outputs of one encode
  double cpus = 0;
  /// kMeasured: in the rehearsal. kComputed: rate x the micro-cost of one frame.
  Basis basis = Basis::kMeasured;
};

struct CpuModel {
  std::vector<CpuPart> parts;
  std::vector<UntoldPart> not_told;  // parts that neither the rehearsal nor a micro-cost knows

  double Total() const;
  /// Of the parts of one source or output.
  double Of(const std::string& item) const;
};

/// Part by part from the rehearsal's CPU seconds per frame, at the profile's
/// rate; where a part did not run, from the micro-costs. Nothing when neither
/// was measured.
std::optional<CpuModel> ModelCpu(const profiles::Profile& profile, const bench::Results& results);

/// What one more source of a kind takes, in CPUs.
struct AddedCpu {
  double own = 0;        // the source and its isos, mean over the kind
  double multiview = 0;  // drawing it too, by the pixels that are read
  Basis basis = Basis::kMeasured;
  bool told = true;  // false: some part of it is not known

  double Sum() const { return own + multiview; }
};
AddedCpu CpuOfOneMore(const CpuModel& model, const profiles::Profile& profile,
                      const profiles::SourceKind& kind);

}  // namespace report
