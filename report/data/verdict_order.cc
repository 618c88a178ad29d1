// SPDX-License-Identifier: Apache-2.0

#include "report/data/verdict_order.h"

namespace report {

int BadnessOf(Verdict verdict) {
  switch (verdict) {
    case Verdict::kReady:
      return 0;
    case Verdict::kTight:
      return 1;
    case Verdict::kUnproven:
      return 2;
    case Verdict::kShort:
      break;
  }
  return 3;
}

}  // namespace report
