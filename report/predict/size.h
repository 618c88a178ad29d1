// SPDX-License-Identifier: Apache-2.0
//
// Whether a changed production fits, by a stored result alone. Pure.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/compare/compare.h"
#include "report/data/sizing.h"

namespace report {

/// Something that keeps a production from being judged.
struct UnprovenPart {
  std::optional<Resource> resource;  // nothing: of none by itself, or of a model's text
  std::string item;                  // as in the row that it stands for; may be empty
  std::string text;

  bool operator==(const UnprovenPart& other) const = default;
};

/// The rows of a changed production and what they come to, without remedies.
struct SizedProduction {
  Verdict verdict = Verdict::kUnproven;
  Sureness sureness = Sureness::kOpen;
  std::vector<SizedResource> resources;  // tightest first
  std::vector<UnprovenPart> unproven;
  double cpus = 0;   // predicted use; 0: not told
  double speed = 0;  // predicted, full-speed run, times real time; 0: not told
  double speed_lowest = 0;
  double speed_highest = 0;
  bool assumed = false;  // some part of the CPU's figure is
};
std::vector<std::string> UnprovenTexts(const SizedProduction& sized);

/// The stored result, and the production as it is to be.
Sizing SizeUp(const NamedDocument& stored, const profiles::Profile& changed);

/// Sets the check's figures and words against the prediction.
void AddCheck(const Document& rehearsed, Sizing& sizing);

/// `format` "rigproof-sizing".
std::string SizingJson(const Sizing& sizing);

}  // namespace report
