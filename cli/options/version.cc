// SPDX-License-Identifier: Apache-2.0

#include "cli/options/version.h"

namespace cli {

std::string ProgramVersion() {
  return RIGPROOF_VERSION;
}

}  // namespace cli
