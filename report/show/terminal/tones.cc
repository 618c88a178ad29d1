// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/tones.h"

namespace report {

Tone ToneOf(Verdict verdict) {
  switch (verdict) {
    case Verdict::kReady:
      return Tone::kGood;
    case Verdict::kTight:
    case Verdict::kUnproven:
      return Tone::kWarn;
    case Verdict::kShort:
      break;
  }
  return Tone::kStop;
}

Piece WordOf(RecordingVerdict verdict) {
  switch (verdict) {
    case RecordingVerdict::kNothingMissing:
      return {"NOTHING MISSING", Tone::kGood};
    case RecordingVerdict::kPartsMissing:
      return {"PARTS MISSING", Tone::kStop};
    case RecordingVerdict::kUnproven:
      return {"UNPROVEN", Tone::kWarn};
  }
  return {};
}

}  // namespace report
