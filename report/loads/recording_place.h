// SPDX-License-Identifier: Apache-2.0
//
// The filesystems that the profile records to, with what is asked of each.

#pragma once

#include <string>
#include <vector>

#include "bench/data/results.h"
#include "probes/data/storage_network.h"
#include "report/data/document.h"

namespace report {

/// One filesystem. Borrows from the evidence.
struct RecordingPlace {
  std::string folder;                                 // the first one, as asked about
  const probes::StorageInventory* storage = nullptr;  // null: not inventoried
  const bench::DiskRun* disk = nullptr;               // null: not measured
  std::vector<std::string> outputs;
  double bytes_per_second = 0;
  double space_bytes = 0;
  double largest_file_bytes = 0;
};

/// Outputs that write files, put together by the filesystem of their folder.
/// An output without a folder of its own goes where no named folder is.
std::vector<RecordingPlace> RecordingPlaces(const Evidence& evidence);

/// Its folder for people; "the recording folder" where it has no name.
std::string FolderText(const RecordingPlace& place);

}  // namespace report
