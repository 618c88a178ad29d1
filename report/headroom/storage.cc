// SPDX-License-Identifier: Apache-2.0
//
// Headroom of each recording place: write rate, space, largest file.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/file_limits.h"
#include "report/headroom/headroom.h"
#include "report/loads/space_guard.h"
#include "report/loads/subjects.h"

namespace report {
namespace {

void AddRate(const Facts& facts, const RecordingPlace& place, std::vector<Headroom>& rows) {
  Headroom row = NewRow(Resource::kDisk, FolderText(place), "bytes/s");
  row.about = {SubjectOf(place)};
  row.demand = place.bytes_per_second;
  row.margin_percent = facts.profile().margins.disk_percent;
  if (place.disk != nullptr && place.disk->sustained_bytes_per_second > 0) {
    SetCapacity(row, place.disk->sustained_bytes_per_second, Basis::kMeasured);
    row.source =
        fmt::format("needed: bit rates of {}; available: {} written in {} ({})",
                    place.outputs.size() == 1 ? "the recording" : "all recordings",
                    base::FormatBytes(static_cast<double>(place.disk->bytes)),
                    base::FormatSeconds(place.disk->seconds), base::Printable(place.disk->method));
  } else {
    row.source = place.disk == nullptr ? "the disk was not measured"
                                       : "the disk test gave no figure: " +
                                             base::Printable(place.disk->stopped_because);
    row.how_to_prove = "qualify on this PC with this folder: it writes until the rate is steady";
  }
  rows.push_back(row);
}

void AddSpace(const RecordingPlace& place, std::vector<Headroom>& rows) {
  Headroom row = NewRow(Resource::kSpace, FolderText(place), "bytes");
  row.about = {SubjectOf(place)};
  row.demand = place.space_bytes;
  if (place.storage != nullptr && place.storage->writable.known() && !*place.storage->writable) {
    SetCapacity(row, 0, Basis::kRead);
    row.source = "the folder cannot be written to";
  } else if (place.storage != nullptr && place.storage->free_bytes.known() &&
             place.storage->size_bytes.known()) {
    SetCapacity(row, UsableSpace(*place.storage), Basis::kRead);
    row.source = fmt::format(
        "needed: whole duration; available: {} free, less the guard of {} (2 GiB or 5 %, the "
        "larger)",
        base::FormatBytes(static_cast<double>(*place.storage->free_bytes)),
        base::FormatBytes(SpaceGuard(*place.storage)));
    if (place.bytes_per_second > 0) {
      row.source += "; it holds " +
                    base::FormatSeconds(profiles::SecondsUntilFull(UsableSpace(*place.storage),
                                                                   place.bytes_per_second)) +
                    " of this production";
    }
  } else {
    row.source = place.storage == nullptr
                     ? "the folder was not looked at"
                     : "free space unknown: " + (place.storage->free_bytes.known()
                                                     ? place.storage->size_bytes.why_unknown()
                                                     : place.storage->free_bytes.why_unknown());
    row.how_to_prove = "name the recording folder, and run on the PC itself";
  }
  rows.push_back(row);
}

void AddFileSize(const RecordingPlace& place, std::vector<Headroom>& rows) {
  if (place.storage == nullptr || !place.storage->largest_file_bytes.known()) {
    return;
  }
  const auto limit = static_cast<double>(*place.storage->largest_file_bytes);
  if (place.largest_file_bytes <= limit) {
    return;  // a limit that nothing reaches is no resource of the production
  }
  Headroom row = NewRow(Resource::kFileSize, FolderText(place), "bytes");
  row.about = {SubjectOf(place)};
  row.demand = place.largest_file_bytes;
  SetCapacity(row, limit, Basis::kRead);
  row.source =
      fmt::format("available: largest file of {}", place.storage->filesystem.value_or("it"));
  rows.push_back(row);
}

}  // namespace

double SpaceGuard(const probes::StorageInventory& storage) {
  constexpr double kLeastBytes = 2.0 * 1024 * 1024 * 1024;
  constexpr double kShare = 0.05;
  const double size = storage.size_bytes.known() ? static_cast<double>(*storage.size_bytes) : 0;
  return std::max(kLeastBytes, size * kShare);
}

double UsableSpace(const probes::StorageInventory& storage) {
  const double free = storage.free_bytes.known() ? static_cast<double>(*storage.free_bytes) : 0;
  return std::max(0.0, free - SpaceGuard(storage));
}

void StorageHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  for (const RecordingPlace& place : facts.places) {
    if (place.disk != nullptr || facts.evidence.length != kRehearsalOnly) {
      AddRate(facts, place, rows);
    }
    AddSpace(place, rows);
    AddFileSize(place, rows);
  }
}

}  // namespace report
