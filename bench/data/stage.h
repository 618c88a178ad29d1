// SPDX-License-Identifier: Apache-2.0
//
// The stages that pictures and sound pass on their way through a production.

#pragma once

#include <array>

#include "base/words.h"

namespace bench {

enum class Stage {
  kNone,  // nothing tells which, or none
  kCapture,
  kReceive,
  kCopy,  // of a raw frame out of the capture buffer
  kDecode,
  kConvert,
  kScale,
  kCompose,
  kMultiview,
  kEncode,
  kEncodeHarder,  // with harder pictures than the profile shows
  kWrite,
  kSend,
  kAudio,
  // The cost of simulating, and no part of the production:
  kSimulate,  // senders of network sources
  kSink,      // receivers of streams
  kEnd,       // of a recording, where it ends before it should: no stage of ours
};

/// What simulating costs, and no production has.
constexpr bool IsSimulation(Stage stage) {
  return stage == Stage::kSimulate || stage == Stage::kSink;
}

}  // namespace bench

template <>
inline constexpr std::array<base::Word<bench::Stage>, 17> base::kWords<bench::Stage>{
    {{bench::Stage::kNone, ""},
     {bench::Stage::kCapture, "capture"},
     {bench::Stage::kReceive, "receive"},
     {bench::Stage::kCopy, "copy"},
     {bench::Stage::kDecode, "decode"},
     {bench::Stage::kConvert, "convert"},
     {bench::Stage::kScale, "scale"},
     {bench::Stage::kCompose, "compose"},
     {bench::Stage::kMultiview, "multiview"},
     {bench::Stage::kEncode, "encode"},
     {bench::Stage::kEncodeHarder, "encode harder"},
     {bench::Stage::kWrite, "write"},
     {bench::Stage::kSend, "send"},
     {bench::Stage::kAudio, "audio"},
     {bench::Stage::kSimulate, "simulate"},
     {bench::Stage::kSink, "sink"},
     {bench::Stage::kEnd, "end"}}};
