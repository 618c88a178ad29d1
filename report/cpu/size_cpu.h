// SPDX-License-Identifier: Apache-2.0
//
// CPU that a changed production takes, part by part, from what the rehearsed one took.

#pragma once

#include <string>
#include <vector>

#include "bench/data/stage.h"
#include "report/data/document.h"

namespace report {

/// A part of a production whose CPU nothing measured tells of.
struct UntoldPart {
  bench::Stage stage = bench::Stage::kNone;
  std::string item;  // the source, the output, or all outputs of one encode; may be empty

  /// "convert of Left".
  std::string Text() const {
    return std::string(base::WordOf(stage)) + (item.empty() ? "" : " of " + item);
  }
};

/// One stage of one source, output or encode of the changed production.
struct ScaledPart {
  bench::Stage stage = bench::Stage::kNone;
  std::string item;
  double cpus = 0;
  double spread = 0;  // share that it may be off by, either way
  Basis basis = Basis::kMeasured;
  std::string from;        // whose measured cost it is, and what that was scaled by
  bool assumed = false;    // some of the scaling is
  bool unchanged = false;  // the rehearsed production had it just so
};

struct ScaledCpu {
  std::vector<ScaledPart> parts;
  std::vector<UntoldPart> not_told;  // parts that nothing measured tells of

  double Total() const;
  /// What the parts that changed may be off by together, in CPUs: they are taken to err alike.
  double Spread() const;
};

/// Scaled from the stages of the rehearsal: by rate, by pixels, by bytes of a format, by bit rate,
/// by effort. A part that is as it was costs what it did.
ScaledCpu ScaleCpu(const Evidence& evidence, const profiles::Profile& changed);

/// CPUs of all work that was due in the rehearsed production as it is, whether it was delivered or
/// dropped; simulating is no part of it. 0 where nothing tells.
double CpusDue(const Evidence& evidence);

/// CPU of an effort against "least", for the same encoder and pictures.
double EffortRatio(profiles::Effort effort);

}  // namespace report
