// SPDX-License-Identifier: Apache-2.0

#include "profiles/words.h"

#include <array>
#include <span>

namespace profiles {
namespace {

template <typename Choice>
struct Word {
  std::string_view word;
  Choice choice;
};

constexpr std::array kArrivesBy{
    Word<ArrivesBy>{"usb", ArrivesBy::kUsb},
    Word<ArrivesBy>{"pcie", ArrivesBy::kPcie},
    Word<ArrivesBy>{"network", ArrivesBy::kNetwork},
};
constexpr std::array kSourceTransport{
    Word<SourceTransport>{"rtp", SourceTransport::kRtp},
    Word<SourceTransport>{"rtsp", SourceTransport::kRtsp},
};
// A clip is not a word of its own in a file: it is written {"clip": "FILE"}.
constexpr std::array kContent{
    Word<Content>{"plain", Content::kPlain},
    Word<Content>{"talk", Content::kTalk},
    Word<Content>{"stage", Content::kStage},
    Word<Content>{"busy", Content::kBusy},
};
constexpr std::array kOutputKind{
    Word<OutputKind>{"recording", OutputKind::kRecording},
    Word<OutputKind>{"stream", OutputKind::kStream},
    Word<OutputKind>{"iso", OutputKind::kIso},
};
constexpr std::array kEncoderChoice{
    Word<EncoderChoice>{"software", EncoderChoice::kSoftware},
    Word<EncoderChoice>{"hardware", EncoderChoice::kHardware},
    Word<EncoderChoice>{"any", EncoderChoice::kAny},
};
constexpr std::array kEffort{
    Word<Effort>{"least", Effort::kLeast},
    Word<Effort>{"low", Effort::kLow},
    Word<Effort>{"medium", Effort::kMedium},
    Word<Effort>{"high", Effort::kHigh},
};

constexpr std::array kCableKind{
    Word<CableKind>{"sdi-coax", CableKind::kSdiCoax}, Word<CableKind>{"hdmi", CableKind::kHdmi},
    Word<CableKind>{"usb2", CableKind::kUsb2},        Word<CableKind>{"usb3", CableKind::kUsb3},
    Word<CableKind>{"cat5e", CableKind::kCat5e},      Word<CableKind>{"cat6", CableKind::kCat6},
    Word<CableKind>{"cat6a", CableKind::kCat6a},      Word<CableKind>{"fibre", CableKind::kFibre},
};
constexpr std::array kCoaxGrade{
    Word<CoaxGrade>{"mini", CoaxGrade::kMini},
    Word<CoaxGrade>{"standard", CoaxGrade::kStandard},
    Word<CoaxGrade>{"low-loss", CoaxGrade::kLowLoss},
};
constexpr std::array kControlWires{
    Word<ControlWires>{"rs232", ControlWires::kRs232},
    Word<ControlWires>{"rs422", ControlWires::kRs422},
    Word<ControlWires>{"rs485", ControlWires::kRs485},
};

constexpr std::span<const Word<ArrivesBy>> Table(ArrivesBy) {
  return kArrivesBy;
}
constexpr std::span<const Word<SourceTransport>> Table(SourceTransport) {
  return kSourceTransport;
}
constexpr std::span<const Word<Content>> Table(Content) {
  return kContent;
}
constexpr std::span<const Word<OutputKind>> Table(OutputKind) {
  return kOutputKind;
}
constexpr std::span<const Word<EncoderChoice>> Table(EncoderChoice) {
  return kEncoderChoice;
}
constexpr std::span<const Word<Effort>> Table(Effort) {
  return kEffort;
}
constexpr std::span<const Word<CableKind>> Table(CableKind) {
  return kCableKind;
}
constexpr std::span<const Word<CoaxGrade>> Table(CoaxGrade) {
  return kCoaxGrade;
}
constexpr std::span<const Word<ControlWires>> Table(ControlWires) {
  return kControlWires;
}

template <typename Choice>
std::string_view WordOf(Choice value) {
  for (const auto& row : Table(value)) {
    if (row.choice == value) {
      return row.word;
    }
  }
  return "clip";
}

}  // namespace

std::string_view ToWord(ArrivesBy value) {
  return WordOf(value);
}
std::string_view ToWord(SourceTransport value) {
  return WordOf(value);
}
std::string_view ToWord(Content value) {
  return WordOf(value);
}
std::string_view ToWord(OutputKind value) {
  return WordOf(value);
}
std::string_view ToWord(EncoderChoice value) {
  return WordOf(value);
}
std::string_view ToWord(Effort value) {
  return WordOf(value);
}
std::string_view ToWord(CableKind value) {
  return WordOf(value);
}
std::string_view ToWord(CoaxGrade value) {
  return WordOf(value);
}
std::string_view ToWord(ControlWires value) {
  return WordOf(value);
}

template <typename Choice>
std::vector<std::string> Words() {
  std::vector<std::string> words;
  for (const auto& row : Table(Choice{})) {
    words.emplace_back(row.word);
  }
  return words;
}

template <typename Choice>
std::optional<Choice> FromWord(std::string_view word) {
  for (const auto& row : Table(Choice{})) {
    if (row.word == word) {
      return row.choice;
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
