// SPDX-License-Identifier: Apache-2.0
//
// How busy the engines of graphics adapters are, as drivers tell it in fdinfo of who uses them.

#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"
#include "probes/procfs/process_texts.h"
#include "probes/sampling/gauges.h"

namespace probes {

/// https://docs.kernel.org/gpu/drm-usage-stats.html. Only processes that we may look into count.
class EngineWatch {
 public:
  EngineWatch(const base::MachineRoot& root, const Missing& missing);

  /// Whether there is anything to watch.
  bool any() const { return any_; }
  /// Looks for open graphics devices of this process.
  void LookInto(int pid);
  void Forget(int pid);
  /// Reads what is known; `seconds` are those since it was called last. Null: only notes.
  void Look(double seconds, const std::set<int>& ours, WatchDevices& devices, WatchSample* sample);

 private:
  using ClientKey = std::tuple<std::string, std::int64_t, std::string>;  // device, client, engine

  struct Last {
    DrmEngine engine;
    int round = 0;  // when it was seen
  };
  struct Share {
    double all = 0;  // of one engine: 1 is full
    double own = 0;
    std::int64_t capacity = 1;
  };
  using Shares = std::map<std::pair<std::string, std::string>, Share>;  // device, engine

  void Add(const DrmClient& client, bool own, double seconds, Shares& shares);
  std::size_t Number(const std::string& device, const std::string& name, WatchDevices& devices);

  const base::MachineRoot& root_;
  Missing missing_;
  bool any_ = false;
  std::set<std::pair<int, std::string>> open_;  // process, descriptor
  std::map<ClientKey, Last> last_;
  std::map<std::pair<std::string, std::string>, std::size_t> numbers_;
  int round_ = 0;
};

}  // namespace probes
