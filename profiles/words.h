// SPDX-License-Identifier: Apache-2.0
//
// The words that profile files use for each choice, and back.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "profiles/profile.h"

namespace profiles {

std::string_view ToWord(ArrivesBy value);
std::string_view ToWord(SourceTransport value);
std::string_view ToWord(Content value);  // kClip: "clip"
std::string_view ToWord(OutputKind value);
std::string_view ToWord(EncoderChoice value);
std::string_view ToWord(Effort value);
std::string_view ToWord(CableKind value);
std::string_view ToWord(CoaxGrade value);
std::string_view ToWord(ControlWires value);

/// The words that FromWord<Choice> takes, in the order to show them.
template <typename Choice>
std::vector<std::string> Words();

/// The choice that `word` stands for; nothing when it is none of Words().
template <typename Choice>
std::optional<Choice> FromWord(std::string_view word);

/// What `takes` may say beside a source's name.
inline constexpr std::string_view kTakesProgram = "program";
inline constexpr std::string_view kTakesMultiview = "multiview";
inline constexpr std::string_view kTakesEverySource = "every source";
/// The `url` of a stream that goes to the program's own sink.
inline constexpr std::string_view kLoopback = "loopback";

}  // namespace profiles
