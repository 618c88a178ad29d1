// SPDX-License-Identifier: Apache-2.0
//
// Outputs to filesystems.

#include "report/loads/recording_place.h"

#include <algorithm>
#include <cstddef>

#include "base/text.h"

namespace report {
namespace {

const probes::StorageInventory* StorageOf(const Evidence& evidence, const std::string& folder) {
  const auto& storage = evidence.inventory.storage;
  if (storage.empty()) {
    return nullptr;
  }
  const auto named = std::find_if(storage.begin(), storage.end(),
                                  [&](const auto& one) { return one.folder == folder; });
  if (named != storage.end() && !folder.empty()) {
    return &*named;
  }
  if (!folder.empty() && storage.size() > 1) {
    return nullptr;
  }
  // No folder of its own: the one that no output names.
  const auto& outputs = evidence.profile.outputs;
  const auto common = std::find_if(storage.begin(), storage.end(), [&](const auto& one) {
    return std::none_of(outputs.begin(), outputs.end(),
                        [&](const auto& output) { return output.folder == one.folder; });
  });
  return common == storage.end() ? &storage.front() : &*common;
}

bool SameFilesystem(const RecordingPlace& place, const probes::StorageInventory* storage,
                    const std::string& folder) {
  if (place.storage == nullptr || storage == nullptr) {
    return place.storage == storage && place.folder == folder;
  }
  if (place.storage == storage) {
    return true;
  }
  if (place.storage->filesystem_id.known() && storage->filesystem_id.known()) {
    return *place.storage->filesystem_id == *storage->filesystem_id;
  }
  return place.storage->mount_point.known() && storage->mount_point.known() &&
         *place.storage->mount_point == *storage->mount_point;
}

const bench::DiskRun* DiskRunOf(const Evidence& evidence, const RecordingPlace& place) {
  const auto& disks = evidence.results.disks;
  for (const bench::DiskRun& disk : disks) {
    if (disk.folder == place.folder) {
      return &disk;
    }
    for (const probes::StorageInventory& storage : evidence.inventory.storage) {
      if (storage.folder == disk.folder && SameFilesystem(place, &storage, storage.folder)) {
        return &disk;
      }
    }
  }
  return nullptr;
}

}  // namespace

std::vector<RecordingPlace> RecordingPlaces(const Evidence& evidence) {
  std::vector<RecordingPlace> places;
  for (std::size_t i = 0; i < evidence.profile.outputs.size(); ++i) {
    const profiles::Output& output = evidence.profile.outputs[i];
    if (output.kind == profiles::OutputKind::kStream || i >= evidence.demand.outputs.size()) {
      continue;
    }
    const profiles::OutputDemand& asked = evidence.demand.outputs[i];
    const probes::StorageInventory* storage = StorageOf(evidence, output.folder);
    auto place = std::find_if(places.begin(), places.end(), [&](const auto& one) {
      return SameFilesystem(one, storage, output.folder);
    });
    if (place == places.end()) {
      RecordingPlace fresh;
      fresh.folder = storage != nullptr ? storage->folder : output.folder;
      fresh.storage = storage;
      places.push_back(fresh);
      place = places.end() - 1;
    }
    place->outputs.push_back(output.name);
    place->bytes_per_second += asked.disk_bytes_per_second;
    place->space_bytes += asked.space_bytes;
    place->largest_file_bytes = std::max(place->largest_file_bytes, asked.space_bytes);
  }
  for (RecordingPlace& place : places) {
    place.disk = DiskRunOf(evidence, place);
  }
  return places;
}

std::string FolderText(const RecordingPlace& place) {
  return place.folder.empty() ? std::string("the recording folder") : base::Printable(place.folder);
}

}  // namespace report
