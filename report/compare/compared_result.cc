// SPDX-License-Identifier: Apache-2.0

#include "report/compare/compared_result.h"

#include <fmt/format.h>

namespace report {

ComparedResult IdentityOf(const NamedDocument& named) {
  const Document& document = named.document;
  const Evidence& evidence = document.evidence;
  ComparedResult result;
  result.name = named.name;
  result.production = evidence.profile.name;
  result.started_at = evidence.started_at;
  result.length = evidence.length;
  const probes::CpuInventory& cpu = evidence.inventory.cpu;
  result.machine = cpu.model.known() ? *cpu.model : "CPU not known";
  if (cpu.usable_cpus.known()) {
    result.machine += fmt::format(", {:.3g} CPUs", *cpu.usable_cpus);
  }
  const probes::SettingsInventory& settings = evidence.inventory.settings;
  result.system = settings.os.known() ? *settings.os : "system not known";
  if (settings.kernel.known()) {
    result.system += ", kernel " + *settings.kernel;
  }
  result.program_version = evidence.program_version;
  result.verdict = document.verdict;
  result.complete = document.complete;
  result.headline = document.headline;
  return result;
}

}  // namespace report
