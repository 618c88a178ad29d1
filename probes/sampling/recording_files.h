// SPDX-License-Identifier: Apache-2.0
//
// The files that a program writes: how fast they grow, and on which disk they are. Their file
// system is never asked, which may stand still: only the kernel's lists of open files are read.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>

#include "base/system/machine_root.h"
#include "probes/procfs/kept_file.h"

namespace probes {

class RecordingFiles {
 public:
  explicit RecordingFiles(const base::MachineRoot& root) : root_(root) {}

  /// Lists the files that these processes have open for writing. False when none of the lists may
  /// be read.
  bool Find(const std::set<int>& pids);

  /// Numbers of the sockets that the same processes have open.
  const std::set<std::int64_t>& sockets() const { return sockets_; }

  /// Bytes that their positions moved on since the call before; nothing when no file is known.
  std::optional<double> Grown();

  /// Whether a descriptor of the process is one of them.
  bool Holds(int pid, std::int64_t descriptor) const;
  /// Name of the disk below that which grew most lately, as in diskstats; empty: not known.
  const std::string& disk() const { return disk_; }
  /// A path that leads to that file; empty: none.
  const std::string& busiest_path() const { return busiest_path_; }

 private:
  using Key = std::pair<int, std::int64_t>;  // process, descriptor

  struct File {
    std::int64_t position = 0;
    std::int64_t grown_lately = 0;  // since Find
    int mount = 0;
    KeptFile info;
  };

  std::string DiskOf(int pid, int mount) const;
  void ChooseBusiest();

  const base::MachineRoot& root_;
  std::map<Key, File> files_;
  std::set<std::int64_t> sockets_;
  Key busiest_{0, -1};
  std::string disk_;
  std::string busiest_path_;
};

}  // namespace probes
