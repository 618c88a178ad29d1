// SPDX-License-Identifier: Apache-2.0
//
// The word that stands for each enumerator in stored results and in reports.

#pragma once

#include <array>
#include <string>
#include <string_view>

#include "base/words.h"
#include "probes/data/usb.h"
#include "report/data/document.h"

template <>
inline constexpr std::array<base::Word<report::Verdict>, 4> base::kWords<report::Verdict>{
    {{report::Verdict::kReady, "ready"},
     {report::Verdict::kTight, "tight"},
     {report::Verdict::kShort, "short"},
     {report::Verdict::kUnproven, "unproven"}}};

template <>
inline constexpr std::array<base::Word<report::Severity>, 3> base::kWords<report::Severity>{
    {{report::Severity::kStop, "stop"},
     {report::Severity::kWarn, "warn"},
     {report::Severity::kNote, "note"}}};

template <>
inline constexpr std::array<base::Word<report::Basis>, 4> base::kWords<report::Basis>{
    {{report::Basis::kMeasured, "measured"},
     {report::Basis::kComputed, "computed"},
     {report::Basis::kRead, "read"},
     {report::Basis::kAssumed, "assumed"}}};

template <>
inline constexpr std::array<base::Word<probes::TransferType>, 4> base::kWords<probes::TransferType>{
    {{probes::TransferType::kControl, "control"},
     {probes::TransferType::kIsochronous, "isochronous"},
     {probes::TransferType::kBulk, "bulk"},
     {probes::TransferType::kInterrupt, "interrupt"}}};

template <>
inline constexpr std::array<base::Word<probes::UsbRole>, 7> base::kWords<probes::UsbRole>{
    {{probes::UsbRole::kHub, "hub"},
     {probes::UsbRole::kCapture, "capture"},
     {probes::UsbRole::kAudio, "audio"},
     {probes::UsbRole::kStorage, "storage"},
     {probes::UsbRole::kNetwork, "network"},
     {probes::UsbRole::kInput, "input"},
     {probes::UsbRole::kOther, "other"}}};

namespace report::stored {

using base::FromWord;
using base::kWords;
using base::WordOf;

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
