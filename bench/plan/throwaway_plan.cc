// SPDX-License-Identifier: Apache-2.0

#include "bench/plan/throwaway_plan.h"

#include <filesystem>

namespace bench {

RehearsalPlan ThrowawayPlan(RehearsalPlan plan, const std::string& prefix) {
  for (OutputPlan& output : plan.outputs) {
    if (output.stream()) {
      output.loopback = true;
    } else {
      const std::filesystem::path path(output.target);
      output.target = (path.parent_path() / (prefix + path.filename().string())).string();
      output.keep_file = false;
    }
  }
  return plan;
}

}  // namespace bench
