// SPDX-License-Identifier: Apache-2.0
//
// The word that stands for each enumerator in stored results and in reports.

#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>

#include "base/words.h"
#include "probes/data/usb.h"
#include "report/document.h"

namespace report::stored {

using base::Word;

/// Every enumerator with its word; specialised for each enumeration that has none beside it.
template <typename Enum>
inline constexpr auto kWords = base::kWords<Enum>;

template <>
inline constexpr std::array<Word<Verdict>, 4> kWords<Verdict>{{{Verdict::kReady, "ready"},
                                                               {Verdict::kTight, "tight"},
                                                               {Verdict::kShort, "short"},
                                                               {Verdict::kUnproven, "unproven"}}};

template <>
inline constexpr std::array<Word<Severity>, 3> kWords<Severity>{
    {{Severity::kStop, "stop"}, {Severity::kWarn, "warn"}, {Severity::kNote, "note"}}};

template <>
inline constexpr std::array<Word<Basis>, 4> kWords<Basis>{{{Basis::kMeasured, "measured"},
                                                           {Basis::kComputed, "computed"},
                                                           {Basis::kRead, "read"},
                                                           {Basis::kAssumed, "assumed"}}};

template <>
inline constexpr std::array<Word<probes::TransferType>, 4> kWords<probes::TransferType>{
    {{probes::TransferType::kControl, "control"},
     {probes::TransferType::kIsochronous, "isochronous"},
     {probes::TransferType::kBulk, "bulk"},
     {probes::TransferType::kInterrupt, "interrupt"}}};

template <>
inline constexpr std::array<Word<probes::UsbRole>, 7> kWords<probes::UsbRole>{
    {{probes::UsbRole::kHub, "hub"},
     {probes::UsbRole::kCapture, "capture"},
     {probes::UsbRole::kAudio, "audio"},
     {probes::UsbRole::kStorage, "storage"},
     {probes::UsbRole::kNetwork, "network"},
     {probes::UsbRole::kInput, "input"},
     {probes::UsbRole::kOther, "other"}}};

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

/// "ready, tight, short, unproven", for error messages.
template <typename Enum>
std::string AllWords() {
  std::string all;
  for (const auto& [each, word] : kWords<Enum>) {
    all += (all.empty() ? "" : ", ") + std::string(word);
  }
  return all;
}

}  // namespace report::stored
