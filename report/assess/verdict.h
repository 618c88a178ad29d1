// SPDX-License-Identifier: Apache-2.0
//
// The verdict and the sentences that give its reasons.

#pragma once

#include <string>
#include <vector>

#include "report/loads/facts.h"

namespace report {

/// short: frames dropped, or a demand above a capacity. unproven: something
/// needed is not known, or the rehearsal was cut short. tight: a margin is
/// not kept, or drops that the profile permits. ready: none of these. Where other
/// programs took what a fair test needs: short if it is without them too, else unproven.
Verdict Judge(const Facts& facts, const std::vector<Headroom>& headroom);

/// One sentence: what limits first, or that nothing does.
std::string FirstLimit(const Facts& facts, const std::vector<Headroom>& headroom);

/// The verdict, and that sentence.
std::string Headline(const Facts& facts, const std::vector<Headroom>& headroom);

/// Most important first, how sure it is last.
std::vector<std::string> Reasons(const Facts& facts, const std::vector<Headroom>& headroom);

/// Whether all that was begun ran to its end.
bool Complete(const Facts& facts);

}  // namespace report
