// SPDX-License-Identifier: Apache-2.0
//
// Small counter files that are read again and again: kept open on this PC, or opened in a hurry.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/system/machine_root.h"

namespace probes {

/// Opening a file of /proc costs more than reading it. Files of another root
/// are opened each time, as a stored tree may change between two reads.
class KeptFile {
 public:
  KeptFile(const base::MachineRoot& root, std::string path);
  KeptFile(KeptFile&& other) noexcept;
  KeptFile& operator=(KeptFile&& other) noexcept;
  ~KeptFile();

  /// From its beginning; valid until it is read again. An error when it is gone, as for a thread
  /// that ended.
  base::Result<std::string_view> Read();

 private:
  const base::MachineRoot* root_;
  std::string path_;
  std::string text_;  // kept for its memory
  int fd_ = -1;
};

/// A small file of /proc or /sys that is read now and then. On this PC without the care that
/// files of a captured machine need, at half the cost.
base::Result<std::string> ReadOnce(const base::MachineRoot& root, const std::string& path);

/// Names in a folder that are numbers, as of processes and threads, the lowest first.
std::vector<int> NumbersIn(const base::MachineRoot& root, const std::string& folder);

}  // namespace probes
