// SPDX-License-Identifier: Apache-2.0
//
// rigproof-topology FOLDER: what hwloc tells of the machine captured there, as text. A program of
// its own, since files of a stranger's making can end hwloc's process, or keep it busy for ever.

#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <exception>
#include <string>

#include "base/system/end_with_parent.h"
#include "base/system/standard_streams.h"
#include "probes/cpu/hwloc_topology.h"
#include "probes/cpu/topology_text.h"

namespace {

constexpr int kWrongUse = 2;
constexpr unsigned kMostSeconds = 8;  // whoever started it is gone by then, or has ended it
constexpr rlim_t kMostCpuSeconds = 4;
constexpr rlim_t kMostMemoryBytes = rlim_t{1} << 30;

#if defined(__has_feature)
#define RIGPROOF_HAS_FEATURE(name) __has_feature(name)
#else
#define RIGPROOF_HAS_FEATURE(name) 0
#endif
/// A sanitizer's shadow of all memory is far above any limit.
constexpr bool kSanitized =
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__) || \
    RIGPROOF_HAS_FEATURE(address_sanitizer) || RIGPROOF_HAS_FEATURE(thread_sanitizer)
    true;
#else
    false;
#endif

/// No more than `most`, nor than was allowed before.
bool Limit(decltype(RLIMIT_AS) what, rlim_t most) {
  rlimit limit{};
  if (getrlimit(what, &limit) != 0) {
    return false;
  }
  limit.rlim_cur = std::min(limit.rlim_cur, most);
  limit.rlim_max = std::min(limit.rlim_max, most + 1);  // where both are one, SIGKILL comes at once
  return setrlimit(what, &limit) == 0;
}

/// False where the kernel refuses one: then nothing is read.
bool LimitThisProcess() {
  base::EndWithParent();
  alarm(kMostSeconds);
  return Limit(RLIMIT_CPU, kMostCpuSeconds) && (kSanitized || Limit(RLIMIT_AS, kMostMemoryBytes)) &&
         Limit(RLIMIT_CORE, 0) && Limit(RLIMIT_FSIZE, 0);
}

int Run(const std::string& folder) {
  if (!LimitThisProcess()) {
    std::fputs("its own limits could not be set\n", stderr);
    return 1;
  }
  probes::PointHwlocAt(folder);
  const auto topology = probes::AskHwloc();
  if (!topology) {
    std::fprintf(stderr, "%s\n", topology.error().detail.c_str());
    return 1;
  }
  const std::string text = probes::WriteTopologyText(*topology);
  const bool written = std::fwrite(text.data(), 1, text.size(), stdout) == text.size();
  return std::fflush(stdout) == 0 && written ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  base::OpenClosedStandardStreams();
  if (argc != 2) {
    std::fputs("usage: rigproof-topology FOLDER\n", stderr);
    return kWrongUse;
  }
  try {
    return Run(argv[1]);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}
