// SPDX-License-Identifier: Apache-2.0
//
// How quantities and resources are written in sentences.

#pragma once

#include <string>

#include "report/data/document.h"

namespace report {

/// "the CPU", "encoding", "USB hub 1-1 (...)": the subject of a sentence.
std::string ResourceText(const Headroom& row);
/// The same with a capital, to begin a sentence.
std::string Capitalised(std::string text);
/// What is needed, in `unit`; "not known" where only a run could have told and none was made.
std::string NeededText(const Headroom& row, const std::string& unit);
/// What is there, in `unit`, or "not known".
std::string AvailableText(const Headroom& row, const std::string& unit);
/// "1 frame", "7 frames".
std::string CountText(long long count, const std::string& singular, const std::string& plural);

}  // namespace report
