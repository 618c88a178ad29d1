// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/topology.h"

#include <string>

#include "base/system/program_parts.h"
#include "base/system/subprocess.h"
#include "base/text.h"
#include "probes/cpu/hwloc_topology.h"
#include "probes/cpu/topology_lists.h"
#include "probes/cpu/topology_text.h"

namespace probes {
namespace {

constexpr int kMostCpus = 65535;
constexpr std::string_view kCpuFolder = "/sys/devices/system/cpu";
/// A whole machine takes hwloc some hundredths of a second.
constexpr double kPatienceSeconds = 6;

/// hwloc in a program of its own, with limits: what a stranger's files make of it ends there.
base::Result<CpuTopology> AskAnotherProgram(const std::filesystem::path& folder) {
  base::Command command;
  command.argv = {base::ProgramPart("rigproof-topology", "probes").string(), folder.string()};
  command.timeout_seconds = kPatienceSeconds;
  command.max_out_bytes = 1 << 20;
  const auto finished = base::RunProgram(command);
  if (!finished) {
    return finished.error();
  }
  if (!finished->ok()) {
    return base::Error{base::ErrorKind::kMalformed, std::string(kCpuFolder),
                       "hwloc cannot make a topology of it: " + base::WhyFailed(*finished)};
  }
  return ParseTopologyText(finished->out);
}

}  // namespace

base::Result<std::vector<int>> ParseCpuList(std::string_view text) {
  const base::Error malformed{
      base::ErrorKind::kMalformed, "processor list",
      "found '" + base::Printable(text, 40) + "' where a list such as 0-3,8 was expected"};
  std::vector<int> cpus;
  const std::string_view trimmed = base::Trim(text);
  if (trimmed.empty()) {
    return cpus;
  }
  for (const std::string_view part : base::Split(trimmed, ',')) {
    const auto dash = part.find('-');
    const auto first = base::ParseInt(part.substr(0, dash));
    const auto last =
        dash == std::string_view::npos ? first : base::ParseInt(part.substr(dash + 1));
    if (!first || !last || *first < 0 || *last < *first || *last > kMostCpus ||
        cpus.size() > kMostCpus) {
      return malformed;
    }
    for (std::int64_t cpu = *first; cpu <= *last; ++cpu) {
      cpus.push_back(static_cast<int>(cpu));
    }
  }
  return cpus;
}

base::Result<CpuTopology> ReadCpuTopology(const base::MachineRoot& root) {
  const auto checked = root.live() ? CheckProcessors(root) : CheckTopologyLists(root);
  if (!checked) {
    return checked.error();
  }
  return root.live() ? AskHwloc() : AskAnotherProgram(root.folder());
}

}  // namespace probes
