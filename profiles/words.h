// SPDX-License-Identifier: Apache-2.0
//
// The words that profile files use for each choice, and back: the one table of each.

#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "base/words.h"
#include "profiles/profile.h"

template <>
inline constexpr std::array<base::Word<profiles::ArrivesBy>, 3> base::kWords<profiles::ArrivesBy>{
    {{profiles::ArrivesBy::kUsb, "usb"},
     {profiles::ArrivesBy::kPcie, "pcie"},
     {profiles::ArrivesBy::kNetwork, "network"}}};
template <>
inline constexpr std::array<base::Word<profiles::SourceTransport>, 2>
    base::kWords<profiles::SourceTransport>{
        {{profiles::SourceTransport::kRtp, "rtp"}, {profiles::SourceTransport::kRtsp, "rtsp"}}};
// A clip is not a word of its own in a profile: it is written {"clip": "FILE"}.
template <>
inline constexpr std::array<base::Word<profiles::Content>, 5> base::kWords<profiles::Content>{
    {{profiles::Content::kPlain, "plain"},
     {profiles::Content::kTalk, "talk"},
     {profiles::Content::kStage, "stage"},
     {profiles::Content::kBusy, "busy"},
     {profiles::Content::kClip, "clip"}}};
template <>
inline constexpr std::array<base::Word<profiles::OutputKind>, 3> base::kWords<profiles::OutputKind>{
    {{profiles::OutputKind::kRecording, "recording"},
     {profiles::OutputKind::kStream, "stream"},
     {profiles::OutputKind::kIso, "iso"}}};
template <>
inline constexpr std::array<base::Word<profiles::EncoderChoice>, 3>
    base::kWords<profiles::EncoderChoice>{{{profiles::EncoderChoice::kSoftware, "software"},
                                           {profiles::EncoderChoice::kHardware, "hardware"},
                                           {profiles::EncoderChoice::kAny, "any"}}};
template <>
inline constexpr std::array<base::Word<profiles::Effort>, 4> base::kWords<profiles::Effort>{
    {{profiles::Effort::kLeast, "least"},
     {profiles::Effort::kLow, "low"},
     {profiles::Effort::kMedium, "medium"},
     {profiles::Effort::kHigh, "high"}}};
template <>
inline constexpr std::array<base::Word<profiles::CableKind>, 8> base::kWords<profiles::CableKind>{
    {{profiles::CableKind::kSdiCoax, "sdi-coax"},
     {profiles::CableKind::kHdmi, "hdmi"},
     {profiles::CableKind::kUsb2, "usb2"},
     {profiles::CableKind::kUsb3, "usb3"},
     {profiles::CableKind::kCat5e, "cat5e"},
     {profiles::CableKind::kCat6, "cat6"},
     {profiles::CableKind::kCat6a, "cat6a"},
     {profiles::CableKind::kFibre, "fibre"}}};
template <>
inline constexpr std::array<base::Word<profiles::CoaxGrade>, 3> base::kWords<profiles::CoaxGrade>{
    {{profiles::CoaxGrade::kMini, "mini"},
     {profiles::CoaxGrade::kStandard, "standard"},
     {profiles::CoaxGrade::kLowLoss, "low-loss"}}};
template <>
inline constexpr std::array<base::Word<profiles::ControlWires>, 3>
    base::kWords<profiles::ControlWires>{{{profiles::ControlWires::kRs232, "rs232"},
                                          {profiles::ControlWires::kRs422, "rs422"},
                                          {profiles::ControlWires::kRs485, "rs485"}}};

namespace profiles {

/// A clip is written {"clip": "FILE"}: its word alone stands for no choice.
template <typename Choice>
constexpr bool StandsAlone(Choice choice) {
  if constexpr (std::is_same_v<Choice, Content>) {
    return choice != Content::kClip;
  }
  return true;
}

template <typename Choice>
constexpr std::string_view ToWord(Choice choice) {
  return base::WordOf(choice);
}

/// The words that FromWord<Choice> takes, in the order to show them.
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

/// The choice that `word` stands for; nothing when it is none of Words().
template <typename Choice>
constexpr std::optional<Choice> FromWord(std::string_view word) {
  const auto choice = base::FromWord<Choice>(word);
  return choice && StandsAlone(*choice) ? choice : std::nullopt;
}

/// What `takes` may say beside a source's name.
inline constexpr std::string_view kTakesProgram = "program";
inline constexpr std::string_view kTakesMultiview = "multiview";
inline constexpr std::string_view kTakesEverySource = "every source";
/// The `url` of a stream that goes to the program's own sink.
inline constexpr std::string_view kLoopback = "loopback";

}  // namespace profiles
