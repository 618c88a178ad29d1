// SPDX-License-Identifier: Apache-2.0

#include "profiles/words.h"

#include <type_traits>

namespace profiles {
namespace {

/// A clip is written {"clip": "FILE"}: its word alone stands for no choice.
template <typename Choice>
constexpr bool StandsAlone(Choice choice) {
  if constexpr (std::is_same_v<Choice, Content>) {
    return choice != Content::kClip;
  }
  return true;
}

}  // namespace

std::string_view ToWord(ArrivesBy value) {
  return base::WordOf(value);
}
std::string_view ToWord(SourceTransport value) {
  return base::WordOf(value);
}
std::string_view ToWord(Content value) {
  return base::WordOf(value);
}
std::string_view ToWord(OutputKind value) {
  return base::WordOf(value);
}
std::string_view ToWord(EncoderChoice value) {
  return base::WordOf(value);
}
std::string_view ToWord(Effort value) {
  return base::WordOf(value);
}
std::string_view ToWord(CableKind value) {
  return base::WordOf(value);
}
std::string_view ToWord(CoaxGrade value) {
  return base::WordOf(value);
}
std::string_view ToWord(ControlWires value) {
  return base::WordOf(value);
}

template <typename Choice>
std::vector<std::string> Words() {
  std::vector<std::string> words;
  for (const auto& [choice, word] : base::kWords<Choice>) {
    if (StandsAlone(choice)) {
      words.emplace_back(word);
    }
  }
  return words;
}

template <typename Choice>
std::optional<Choice> FromWord(std::string_view word) {
  for (const auto& [choice, each] : base::kWords<Choice>) {
    if (each == word && StandsAlone(choice)) {
      return choice;
    }
  }
  return std::nullopt;
}

template std::vector<std::string> Words<ArrivesBy>();
template std::vector<std::string> Words<SourceTransport>();
template std::vector<std::string> Words<Content>();
template std::vector<std::string> Words<OutputKind>();
template std::vector<std::string> Words<EncoderChoice>();
template std::vector<std::string> Words<Effort>();
template std::vector<std::string> Words<CableKind>();
template std::vector<std::string> Words<CoaxGrade>();
template std::vector<std::string> Words<ControlWires>();
template std::optional<ArrivesBy> FromWord<ArrivesBy>(std::string_view);
template std::optional<SourceTransport> FromWord<SourceTransport>(std::string_view);
template std::optional<Content> FromWord<Content>(std::string_view);
template std::optional<OutputKind> FromWord<OutputKind>(std::string_view);
template std::optional<EncoderChoice> FromWord<EncoderChoice>(std::string_view);
template std::optional<Effort> FromWord<Effort>(std::string_view);
template std::optional<CableKind> FromWord<CableKind>(std::string_view);
template std::optional<CoaxGrade> FromWord<CoaxGrade>(std::string_view);
template std::optional<ControlWires> FromWord<ControlWires>(std::string_view);

}  // namespace profiles
