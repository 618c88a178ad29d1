// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: a stored machine of which one file, chosen by the first two bytes, holds what a
// stranger wrote, read and judged as `survey --machine` does.

#include <unistd.h>

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "base/system/program_parts.h"
#include "probes/take_inventory.h"
#include "profiles/demand/demand.h"
#include "profiles/text/reader.h"
#include "profiles/text/starters.h"
#include "report/assess/assess.h"
#include "report/data/writers.h"

namespace {

namespace fs = std::filesystem;

/// The tests' own, unless the environment names others: a target may run on another PC.
fs::path Fixtures() {
  const char* const elsewhere = std::getenv("RIGPROOF_FIXTURES");
  return elsewhere != nullptr ? elsewhere : RIGPROOF_FIXTURES;
}

/// A copy of a stored machine in memory, gone when the program ends.
class Machine {
 public:
  Machine() : folder_(fs::path("/dev/shm") / ("rigproof-fuzz-" + std::to_string(getpid()))) {
    fs::copy(Fixtures() / "machines/2xhci-3capture-shared-hub", folder_,
             fs::copy_options::recursive | fs::copy_options::copy_symlinks);
    for (const auto& entry : fs::recursive_directory_iterator(folder_)) {
      if (entry.is_regular_file() && !entry.is_symlink()) {
        files_.push_back(entry.path());
      }
    }
    std::sort(files_.begin(), files_.end());
  }
  Machine(const Machine&) = delete;
  Machine& operator=(const Machine&) = delete;
  ~Machine() {
    std::error_code ignored;
    fs::remove_all(folder_, ignored);
  }

  const fs::path& folder() const { return folder_; }
  const fs::path& File(std::size_t number) const { return files_.at(number % files_.size()); }

 private:
  fs::path folder_;
  std::vector<fs::path> files_;
};

const Machine& Stored() {
  static const Machine machine;
  return machine;
}

std::string Read(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

void Write(const fs::path& path, const std::string& text) {
  std::ofstream(path, std::ios::binary | std::ios::trunc) << text;
}

/// Whether the processors were made out. `whole`: with the JSON, whose what-if model takes half a
/// second to make.
bool Survey(const fs::path& folder, bool whole) {
  const auto root = base::MachineRoot::At(folder);
  const auto profile = profiles::ParseProfile(profiles::Starters().front().json, "starter");
  if (!root || !profile) {
    std::abort();
  }
  report::Evidence evidence;
  evidence.profile = *profile;
  evidence.inventory = probes::TakeInventory(*root, {{"/srv/video"}});
  evidence.demand = profiles::SumDemand(*profile);
  const bool processors = evidence.inventory.cpu.cores.known();
  const report::Document document = report::Assess(std::move(evidence));
  if (report::WriteTerminal(document, {.details = true}).empty() ||
      (whole && report::WriteJson(document).empty())) {
    std::abort();
  }
  return processors;
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerInitialize(int* /*argc*/, char*** /*argv*/) {
  // The program that asks hwloc is the build's; in a copy of this one it lies beside.
  if (fs::exists(RIGPROOF_BUILD "/probes/rigproof-topology")) {
    base::TakePartsFrom(RIGPROOF_BUILD);
  }
  if (!Survey(Stored().folder(), true)) {
    std::fputs("the unchanged machine's processors are not read: where is rigproof-topology?\n",
               stderr);
    std::exit(1);
  }
  return 0;
}

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 2) {
    return 0;
  }
  const Machine& machine = Stored();
  const fs::path& file = machine.File(static_cast<std::size_t>(data[0]) << 8U | data[1]);
  const std::string before = Read(file);
  Write(file, std::string(reinterpret_cast<const char*>(data + 2), size - 2));
  Survey(machine.folder(), size % 16 == 0);
  Write(file, before);
  return 0;
}
