// SPDX-License-Identifier: Apache-2.0
//
// Rules on the recording disks.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// space-short: free space ends before the production does (stop).
void SpaceTooShort(const RuleInput& input, std::vector<Finding>& findings);
/// file-size-limit: a recording outgrows the filesystem's largest file (stop).
void FileSizeLimit(const RuleInput& input, std::vector<Finding>& findings);
/// folder-not-writable: nothing can be recorded there (stop).
void FolderNotWritable(const RuleInput& input, std::vector<Finding>& findings);
/// disk-not-steady: the write rate never settled.
void DiskNotSteady(const RuleInput& input, std::vector<Finding>& findings);
/// disk-step-down: the write rate fell in a step.
void DiskSteppedDown(const RuleInput& input, std::vector<Finding>& findings);
/// disk-on-usb: the recording disk hangs on USB.
void DiskOnUsb(const RuleInput& input, std::vector<Finding>& findings);
/// disk-shared: two filesystems that are recorded to are on one disk.
void DiskShared(const RuleInput& input, std::vector<Finding>& findings);
/// swap-on-recording-disk: memory is swapped out to a disk that is recorded to.
void SwapOnRecordingDisk(const RuleInput& input, std::vector<Finding>& findings);
/// disk-rotational: a spinning disk takes the recordings.
void DiskRotates(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
