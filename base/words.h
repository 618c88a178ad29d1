// SPDX-License-Identifier: Apache-2.0
//
// The word that stands for each enumerator, in stored files and for people.

#pragma once

#include <array>
#include <optional>
#include <string_view>
#include <utility>

namespace base {

template <typename Enum>
using Word = std::pair<Enum, std::string_view>;

/// Every enumerator with its word; specialised beside the enumeration.
template <typename Enum>
inline constexpr std::array<Word<Enum>, 0> kWords{};

/// The enumerator's word; empty only for a value outside the enumeration.
template <typename Enum>
constexpr std::string_view WordOf(Enum value) {
  static_assert(!kWords<Enum>.empty(), "include the header that has its words");
  for (const auto& [each, word] : kWords<Enum>) {
    if (each == value) {
      return word;
    }
  }
  return {};
}

/// The enumerator that `text` stands for.
template <typename Enum>
constexpr std::optional<Enum> FromWord(std::string_view text) {
  static_assert(!kWords<Enum>.empty(), "include the header that has its words");
  for (const auto& [each, word] : kWords<Enum>) {
    if (word == text) {
      return each;
    }
  }
  return std::nullopt;
}

}  // namespace base
