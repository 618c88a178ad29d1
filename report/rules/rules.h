// SPDX-License-Identifier: Apache-2.0
//
// Every rule, by what it looks at: the id of its findings, and what they say.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

// Rules on what the rehearsal showed.

/// drops-STAGE: frames dropped after the warm-up, one finding per stage (stop).
void DroppedFrames(const RuleInput& input, std::vector<Finding>& findings);
/// rehearsal-incomplete: it ended before its time.
void RehearsalCutShort(const RuleInput& input, std::vector<Finding>& findings);
/// output-failed: an output ended early (stop).
void OutputFailed(const RuleInput& input, std::vector<Finding>& findings);
/// frames-late: frames delivered more than a period late.
void LateFrames(const RuleInput& input, std::vector<Finding>& findings);
/// memory-prediction: measured memory far from the computed pool.
void MemoryOffPrediction(const RuleInput& input, std::vector<Finding>& findings);

// Rules on why frames were dropped, and on what got slower during the run.

/// cause-NAME: one finding per cause that was named, with what to do (stop, or
/// warn where the profile allows that many drops).
void CausesOfDrops(const RuleInput& input, std::vector<Finding>& findings);
/// step-down: something got slower in the middle of the run and stayed so.
void SpeedStepped(const RuleInput& input, std::vector<Finding>& findings);

// Resources of which more is needed than there is, where no rule of their own says so.

void ResourceShort(const RuleInput& input, std::vector<Finding>& findings);

// Rules on encoders and the streams that they make.

/// encoder-missing: no working encoder for what an output asks (stop).
void EncoderMissing(const RuleInput& input, std::vector<Finding>& findings);
/// encoder-refused: an encoder is listed and does not open.
void EncoderRefused(const RuleInput& input, std::vector<Finding>& findings);
/// level-uncommon: a level above what players commonly take.
void LevelUncommon(const RuleInput& input, std::vector<Finding>& findings);

// Rules on what else took the CPU.

/// background-cpu, background-disk, background-network: other programs took what a fair test needs.
void OthersBusy(const RuleInput& input, std::vector<Finding>& findings);
/// host-steal: the host took CPU time from this virtual machine.
void HostSteal(const RuleInput& input, std::vector<Finding>& findings);
/// cpu-quota: a quota held the run back.
void QuotaThrottled(const RuleInput& input, std::vector<Finding>& findings);
/// virtual-machine: the PC is a guest (note).
void VirtualMachine(const RuleInput& input, std::vector<Finding>& findings);
/// file-scanners: processes that look into every opened file.
void FileScanners(const RuleInput& input, std::vector<Finding>& findings);

// Rules on power saving, cooling and the clock rate of the CPU.

/// cpu-throttled: the CPU slowed itself down during the run.
void CpuThrottled(const RuleInput& input, std::vector<Finding>& findings);
/// cpu-held-back: a limit below the CPU's own highest clock rate, other than boost being off.
void CpuHeldBack(const RuleInput& input, std::vector<Finding>& findings);
/// power-battery: the PC runs from its battery.
void RunningOnBattery(const RuleInput& input, std::vector<Finding>& findings);
/// power-saving-governor: the frequency governor or its energy preference saves power.
void PowerSavingGovernor(const RuleInput& input, std::vector<Finding>& findings);
/// power-saving-profile: the platform profile saves power.
void PowerSavingProfile(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-power-saving: PCIe links may sleep (ASPM).
void PcieSaving(const RuleInput& input, std::vector<Finding>& findings);
/// power-saving-tuning: a tuning daemon's profile saves power.
void PowerSavingTuning(const RuleInput& input, std::vector<Finding>& findings);
/// cpu-idle-deep: an idle CPU takes long to wake (note).
void DeepIdleStates(const RuleInput& input, std::vector<Finding>& findings);
/// cpu-boost: whether the CPU may clock above its base rate (note).
void BoostState(const RuleInput& input, std::vector<Finding>& findings);

// Rules on displays, memory and the state of the system.

/// displays-fewer: fewer displays connected than wanted, or not readable.
void TooFewDisplays(const RuleInput& input, std::vector<Finding>& findings);
/// swap: memory may be swapped out while frames are in it (note).
void SwapInUse(const RuleInput& input, std::vector<Finding>& findings);
/// display-mode: no display shows the multiview at its size.
void DisplayModeSmall(const RuleInput& input, std::vector<Finding>& findings);
/// clock-two-keepers: two programs set the clock.
void TwoClockKeepers(const RuleInput& input, std::vector<Finding>& findings);
/// clock-not-synchronised: the system clock follows no time server.
void ClockNotSynchronised(const RuleInput& input, std::vector<Finding>& findings);
/// rates-differ: a source's or output's rate is not the program's.
void RatesDiffer(const RuleInput& input, std::vector<Finding>& findings);
/// probe-failed: a part of the inventory could not be read (note).
void ProbesFailed(const RuleInput& input, std::vector<Finding>& findings);

// Rules on what the PC does by itself while nobody touches it: sleep, updates, upkeep.

/// sleep-when-idle: the session manager ends the show for want of a key press.
void SleepWhenIdle(const RuleInput& input, std::vector<Finding>& findings);
/// sleep-lid: closing the lid does.
void SleepOnLid(const RuleInput& input, std::vector<Finding>& findings);
/// sleep-allowed: no file forbids it (note).
void SleepAllowed(const RuleInput& input, std::vector<Finding>& findings);
/// work-timers: updates or upkeep that may start during the show.
void WorkTimers(const RuleInput& input, std::vector<Finding>& findings);

// Rules on single USB capture devices.

/// usb-capture-missing: fewer capture devices than USB sources; usb-unread: nobody knows.
void CaptureMissing(const RuleInput& input, std::vector<Finding>& findings);
/// usb-mode-not-offered: a device that lists modes, and none is the one asked.
void ModeNotOffered(const RuleInput& input, std::vector<Finding>& findings);
/// usb-slower-than-it-could: a capture negotiated below its best speed.
void SlowerThanItCould(const RuleInput& input, std::vector<Finding>& findings);
/// usb-hub-power: a bus-powered hub that feeds more than its port gives.
void HubPower(const RuleInput& input, std::vector<Finding>& findings);
/// usb-autosuspend: a capture that the system may put to sleep.
void Autosuspend(const RuleInput& input, std::vector<Finding>& findings);
/// usb-descriptors: captures whose descriptors could not be read whole.
void UnreadDescriptors(const RuleInput& input, std::vector<Finding>& findings);

// Where capture devices hang and who has taken them.

/// usb-no-pictures: a capture device without a driver or a video node.
void NoPictures(const RuleInput& input, std::vector<Finding>& findings);
/// usb-may-be-faster: a capture at 480 Mb/s that shows signs of SuperSpeed, with no list of its
/// capabilities to tell.
void MayBeFaster(const RuleInput& input, std::vector<Finding>& findings);
/// usb-hub-depth: as many hubs in a row as USB allows, nearly or beyond.
void HubDepth(const RuleInput& input, std::vector<Finding>& findings);

// Rules on captures that share a USB hub, a controller or a link.

/// usb-link-oversubscribed: captures ask more than a link carries (stop).
void LinkOversubscribed(const RuleInput& input, std::vector<Finding>& findings);
/// usb-shared-hub: captures behind one physical hub, whichever half carries them.
void SharedHub(const RuleInput& input, std::vector<Finding>& findings);
/// usb-shared-controller: captures on several ports of a controller beyond its margin.
void SharedController(const RuleInput& input, std::vector<Finding>& findings);
/// usb-bulk-neighbour: storage or network on a controller that captures use.
void BulkNeighbour(const RuleInput& input, std::vector<Finding>& findings);

// Rules on the time of USB buses: isochronous streams that are refused, translators that are full.

/// usb-ehci-refuses, usb-no-bandwidth: reservations on a bus beyond what may be held (ENOSPC).
void BusRefusesStreams(const RuleInput& input, std::vector<Finding>& findings);
/// usb-setting-too-small: a mode that no alternate setting of its device holds (EIO).
void SettingTooSmall(const RuleInput& input, std::vector<Finding>& findings);
/// usb-translator-full: slow devices that one translator cannot serve at once.
void TranslatorFull(const RuleInput& input, std::vector<Finding>& findings);

// Rules on PCIe links.

/// pcie-link-reduced: a capture card, a USB controller with captures or a recording
/// disk on fewer lanes or slower than both ends of its link can.
void PcieLinkReduced(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-port-narrow: the port above is the smaller half of a link that lacks room.
void PciePortNarrow(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-shared-uplink: captures and a recording disk share a link beyond its margin.
void PcieSharedUplink(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-chipset: captures and other loads hang on the chipset, whose uplink is not shown (note).
void PcieChipset(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-link-sleep: links that captures come in on may sleep deeply (note).
void PcieLinkSleep(const RuleInput& input, std::vector<Finding>& findings);

// Rules on the network.

/// uplink-unmeasured: streams were sent to this PC itself, or the way out is unknown.
void UplinkUnmeasured(const RuleInput& input, std::vector<Finding>& findings);
/// network-slow: a link slower than what it must carry leaves room for.
void NetworkTooSlow(const RuleInput& input, std::vector<Finding>& findings);
/// network-half-duplex: a link that cannot send and receive at once.
void HalfDuplex(const RuleInput& input, std::vector<Finding>& findings);
/// network-wireless: a stream or source over a wireless link.
void WirelessLink(const RuleInput& input, std::vector<Finding>& findings);
/// network-no-route: a stream goes where no link leads.
void NoRoute(const RuleInput& input, std::vector<Finding>& findings);
/// network-errors: errors or drops counted on a link in use.
void NetworkErrors(const RuleInput& input, std::vector<Finding>& findings);

// Rules on the recording disks.

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

// Rules on cables and on chains of camera control, where the profile has them.

/// cable-length: a cable beyond the published limit for what it carries.
void CableLength(const RuleInput& input, std::vector<Finding>& findings);
/// cable-too-slow: a USB 2 cable for pictures that need more (stop).
void CableTooSlow(const RuleInput& input, std::vector<Finding>& findings);
/// control-length: a chain of camera control beyond the limit of its wires.
void ControlLength(const RuleInput& input, std::vector<Finding>& findings);
/// control-speed: RS-232 faster than its standard goes (note).
void ControlSpeed(const RuleInput& input, std::vector<Finding>& findings);
/// control-chain-break: one break loses every camera after it (note).
void ControlChainBreak(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
