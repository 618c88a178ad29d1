// SPDX-License-Identifier: Apache-2.0
//
// Recording disks.

#include <algorithm>
#include <map>
#include <set>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/loads/space_guard.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"
#include "report/words/figures.h"

namespace report::rules {
namespace {

const bench::DiskRun* Measured(const RecordingPlace& place) {
  return place.disk != nullptr && place.disk->sustained_bytes_per_second > 0 ? place.disk : nullptr;
}

template <typename Test>
const probes::BlockLayer* LayerWith(const RecordingPlace& place, Test test) {
  if (place.storage == nullptr) {
    return nullptr;
  }
  const auto& layers = place.storage->layers;
  const auto found = std::find_if(layers.begin(), layers.end(), test);
  return found == layers.end() ? nullptr : &*found;
}

std::set<std::string> DisksOf(const RecordingPlace& place) {
  std::set<std::string> disks;
  if (place.storage != nullptr) {
    for (const probes::BlockLayer& layer : place.storage->layers) {
      if (layer.kind == "disk") {
        disks.insert(layer.name);
      }
    }
  }
  return disks;
}

std::string LayerText(const probes::BlockLayer& layer) {
  return fmt::format("{} {}", base::Printable(layer.name, 40), base::Printable(layer.model, 60));
}

// A rate that wavers far above what is asked is worth knowing, and nothing to mend.
Severity SeverityOfWavering(const RuleInput& input, const RecordingPlace& place) {
  const auto row =
      std::find_if(input.headroom.begin(), input.headroom.end(), [&](const Headroom& one) {
        return one.resource == Resource::kDisk && one.about == std::vector{SubjectOf(place)};
      });
  const bool kept = row != input.headroom.end() && row->headroom_percent &&
                    *row->headroom_percent >= row->margin_percent;
  return kept ? Severity::kNote : Severity::kWarn;
}

}  // namespace

void SpaceTooShort(const RuleInput& input, std::vector<Finding>& findings) {
  for (const RecordingPlace& place : input.facts.places) {
    if (place.storage == nullptr || !place.storage->free_bytes.known() ||
        place.bytes_per_second <= 0) {
      continue;
    }
    const double usable = UsableSpace(*place.storage);
    if (place.space_bytes <= usable) {
      continue;
    }
    Finding finding = NewFinding("space-short", Severity::kStop);
    finding.about = {SubjectOf(place)};
    finding.title = fmt::format("{} is full after {} of the production's {}", FolderText(place),
                                base::FormatSeconds(usable / place.bytes_per_second),
                                base::FormatSeconds(input.facts.profile().duration_minutes * 60.0));
    finding.title = Capitalised(finding.title);
    finding.evidence.push_back(fmt::format(
        "{} needed, {} free less {} that must stay free", base::FormatBytes(place.space_bytes),
        base::FormatBytes(static_cast<double>(*place.storage->free_bytes)),
        base::FormatBytes(SpaceGuard(*place.storage))));
    finding.action = fmt::format("Free at least {}, or record to a larger disk.",
                                 base::FormatBytes(place.space_bytes - usable));
    findings.push_back(finding);
  }
}

void FileSizeLimit(const RuleInput& input, std::vector<Finding>& findings) {
  for (const RecordingPlace& place : input.facts.places) {
    if (place.storage == nullptr || !place.storage->largest_file_bytes.known() ||
        place.largest_file_bytes <= static_cast<double>(*place.storage->largest_file_bytes)) {
      continue;
    }
    const auto limit = static_cast<double>(*place.storage->largest_file_bytes);
    Finding finding = NewFinding("file-size-limit", Severity::kStop);
    finding.about = {SubjectOf(place)};
    finding.title = Capitalised(fmt::format(
        "{} ends a file at {}, and the largest recording grows to {}", FolderText(place),
        base::FormatBytes(limit), base::FormatBytes(place.largest_file_bytes)));
    const double seconds = input.facts.profile().duration_minutes * 60.0;
    finding.evidence.push_back(
        fmt::format("filesystem {}; the limit is reached after {}",
                    base::Printable(place.storage->filesystem.value_or("unknown"), 40),
                    base::FormatSeconds(seconds * limit / place.largest_file_bytes)));
    finding.action = "Record to a disk with a filesystem without that limit (ext4, exFAT, NTFS).";
    findings.push_back(finding);
  }
}

void FolderNotWritable(const RuleInput& input, std::vector<Finding>& findings) {
  for (const RecordingPlace& place : input.facts.places) {
    if (place.storage == nullptr || !place.storage->writable.known() || *place.storage->writable) {
      continue;
    }
    findings.push_back(
        {.id = "folder-not-writable",
         .severity = Severity::kStop,
         .title = Capitalised(FolderText(place) + " cannot be written to"),
         .evidence = {"mounted at " +
                      base::Printable(place.storage->mount_point.value_or("an unknown place"))},
         .action = "Mount it writable, or record to another folder.",
         .about = {SubjectOf(place)}});
  }
}

void DiskNotSteady(const RuleInput& input, std::vector<Finding>& findings) {
  for (const RecordingPlace& place : input.facts.places) {
    const bench::DiskRun* disk = Measured(place);
    if (disk == nullptr || disk->steady) {
      continue;
    }
    Finding finding = NewFinding("disk-not-steady", SeverityOfWavering(input, place));
    finding.about = {SubjectOf(place)};
    finding.title = fmt::format("The write rate of {} did not settle in {}", FolderText(place),
                                base::FormatSeconds(disk->seconds));
    finding.evidence.push_back(
        fmt::format("spread {:.0f} % of the mean, slope {:.0f} % over the window (steady: at most "
                    "20 % and 10 %)",
                    disk->excursion_percent, disk->slope_percent));
    finding.action =
        "Run the standard length, with nothing else using the disk, to see the rate it settles at.";
    findings.push_back(finding);
  }
}

void DiskSteppedDown(const RuleInput& input, std::vector<Finding>& findings) {
  for (const RecordingPlace& place : input.facts.places) {
    const bench::DiskRun* disk = Measured(place);
    if (disk == nullptr || !disk->step_at_s || !disk->step_ratio || *disk->step_ratio >= 1) {
      continue;
    }
    Finding finding = NewFinding("disk-step-down", SeverityOfWavering(input, place));
    finding.about = {SubjectOf(place)};
    finding.title = fmt::format("The write rate of {} fell to {:.0f} % after {}", FolderText(place),
                                *disk->step_ratio * 100, base::FormatSeconds(*disk->step_at_s));
    finding.evidence.push_back(
        fmt::format("{} sustained in the end; a fast cache that fills up looks like this",
                    base::FormatBytesPerSecond(disk->sustained_bytes_per_second)));
    finding.action =
        "Count on the lower rate, keep a fifth of the disk free, or use a disk that "
        "holds its rate.";
    findings.push_back(finding);
  }
}

void DiskOnUsb(const RuleInput& input, std::vector<Finding>& findings) {
  for (const RecordingPlace& place : input.facts.places) {
    const auto* layer = LayerWith(place, [](const probes::BlockLayer& one) {
      return !one.usb_path.empty() || (one.transport.known() && *one.transport == "usb");
    });
    if (layer == nullptr) {
      continue;
    }
    Finding finding = NewFinding("disk-on-usb", Severity::kWarn);
    finding.about = {SubjectOf(place)};
    if (!layer->usb_path.empty()) {
      finding.about.push_back({SubjectKind::kUsb, layer->usb_path});
    }
    finding.title = Capitalised(fmt::format("{} is on a USB disk", FolderText(place)));
    finding.evidence.push_back(
        LayerText(*layer) +
        (layer->usb_path.empty() ? std::string() : " at " + base::Printable(layer->usb_path, 40)));
    finding.action = "Record to an internal disk; copy to the USB disk after the show.";
    findings.push_back(finding);
  }
}

void DiskRotates(const RuleInput& input, std::vector<Finding>& findings) {
  for (const RecordingPlace& place : input.facts.places) {
    const auto* layer = LayerWith(place, [](const probes::BlockLayer& one) {
      // A guest's disk says what its host made up.
      const bool guest = one.transport.known() && *one.transport == "virtio";
      return one.kind == "disk" && !guest && one.rotational.known() && *one.rotational;
    });
    if (layer == nullptr) {
      continue;
    }
    Finding finding =
        NewFinding("disk-rotational", place.outputs.size() > 1 ? Severity::kWarn : Severity::kNote);
    finding.about = {SubjectOf(place)};
    finding.title = Capitalised(fmt::format("{} is on a spinning disk", FolderText(place)));
    finding.evidence.push_back(fmt::format(
        "{}: {} at once", LayerText(*layer),
        CountText(static_cast<long long>(place.outputs.size()), "recording", "recordings")));
    finding.action = "Use a solid-state disk where several files are written at once.";
    findings.push_back(finding);
  }
}

void DiskShared(const RuleInput& input, std::vector<Finding>& findings) {
  std::map<std::string, std::vector<const RecordingPlace*>> by_disk;
  for (const RecordingPlace& place : input.facts.places) {
    for (const std::string& disk : DisksOf(place)) {
      by_disk[disk].push_back(&place);
    }
  }
  for (const auto& [disk, places] : by_disk) {
    if (places.size() < 2) {
      continue;
    }
    Finding finding = NewFinding("disk-shared", Severity::kWarn);
    finding.title = fmt::format("{} recording folders are on one disk, {}", places.size(),
                                base::Printable(disk, 40));
    double sum = 0;
    for (const RecordingPlace* place : places) {
      sum += place->bytes_per_second;
      finding.about.push_back(SubjectOf(*place));
      finding.evidence.push_back(fmt::format("{}: {}", FolderText(*place),
                                             base::FormatBytesPerSecond(place->bytes_per_second)));
    }
    finding.evidence.push_back(fmt::format("together {}, while each was looked at alone",
                                           base::FormatBytesPerSecond(sum)));
    finding.action = "Record to two disks, or count the disk's rate once for both folders.";
    findings.push_back(finding);
  }
}

void SwapOnRecordingDisk(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::SettingsInventory& settings = input.facts.machine().settings;
  if (!settings.swap_areas.known() || settings.swappiness.value_or(1) == 0) {
    return;
  }
  for (const RecordingPlace& place : input.facts.places) {
    const std::set<std::string> disks = DisksOf(place);
    for (const probes::SwapArea& area : *settings.swap_areas) {
      const auto shared = std::find_if(area.disks.begin(), area.disks.end(),
                                       [&](const auto& disk) { return disks.contains(disk); });
      if (shared == area.disks.end()) {
        continue;
      }
      Finding finding = NewFinding("swap-on-recording-disk",
                                   area.used_bytes > 0 ? Severity::kWarn : Severity::kNote);
      finding.about = {SubjectOf(place)};
      finding.title = Capitalised(
          fmt::format("{} is on a disk that memory is swapped out to", FolderText(place)));
      finding.evidence.push_back(
          fmt::format("{} of {} in use in {} on {} (/proc/swaps)",
                      base::FormatBytes(static_cast<double>(area.used_bytes)),
                      base::FormatBytes(static_cast<double>(area.size_bytes)),
                      base::Printable(area.name, 60), base::Printable(*shared, 40)));
      finding.evidence.push_back(settings.swappiness.known()
                                     ? fmt::format("vm.swappiness is {}", *settings.swappiness)
                                     : "vm.swappiness unknown");
      finding.action =
          "Keep memory free so that nothing is swapped, or move swap or recordings to another "
          "disk.";
      findings.push_back(finding);
    }
  }
}

}  // namespace report::rules
