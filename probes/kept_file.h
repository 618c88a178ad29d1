// SPDX-License-Identifier: Apache-2.0
//
// A small counter file that is read again and again: kept open on this PC.

#pragma once

#include <string>

#include "base/machine_root.h"
#include "base/result.h"

namespace probes {

/// Opening a file of /proc costs more than reading it. Files of another root
/// are opened each time, as a stored tree may change between two reads.
class KeptFile {
 public:
  KeptFile(const base::MachineRoot& root, std::string path);
  KeptFile(KeptFile&& other) noexcept;
  KeptFile& operator=(KeptFile&& other) noexcept;
  ~KeptFile();

  /// From its beginning. An error when it is gone, as for a thread that ended.
  base::Result<std::string> Read();

 private:
  const base::MachineRoot* root_;
  std::string path_;
  int fd_ = -1;
};

}  // namespace probes
