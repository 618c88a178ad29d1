#include "cli/version.h"

namespace cli {

std::string ProgramVersion() {
  return RIGPROOF_VERSION;
}

}  // namespace cli
