// SPDX-License-Identifier: Apache-2.0
//
// One table of rules; each has a row. What depends on the finding is told by the rule itself.

#include "report/rules/bearings.h"

#include <algorithm>

#include "report/rules/rules.h"

namespace report::rules {
namespace {

struct Bearing {
  Rule rule;
  std::vector<Resource> bears_on;
  std::vector<ReportPart> rests_on;
};

const std::vector<Bearing>& Bearings() {
  using enum Resource;
  using enum ReportPart;
  static const std::vector<Bearing> all = {
      {DroppedFrames, {}, {kDrops, kOverTime}},
      {CausesOfDrops, {}, {kDrops, kOverTime}},
      {LateFrames, {}, {kDrops, kOverTime}},
      {OutputFailed, {}, {kRehearsal, kDrops}},
      {RehearsalCutShort, {}, {kRehearsal}},
      {SpeedStepped, {}, {kOverTime}},
      {ResourceShort, {}, {}},       // of each resource: by itself
      {LinkOversubscribed, {}, {}},  // of USB or PCIe: by itself
      {ProbesFailed, {}, {kMachine}},
      {CpuThrottled, {kCpu, kEncoder}, {kOverTime, kMachine}},
      {QuotaThrottled, {kCpu, kEncoder}, {kOverTime, kMachine}},
      {CpuHeldBack, {kCpu, kOneThread}, {kMachine}},
      {DeepIdleStates, {kCpu, kEncoder}, {kOverTime, kMachine}},
      {BoostState, {kCpu, kEncoder}, {kOverTime, kMachine}},
      {OthersBusy, {kCpu, kEncoder}, {kOverTime}},
      {HostSteal, {kCpu, kEncoder}, {kOverTime}},
      {VirtualMachine, {kCpu}, {kMachine}},
      {RunningOnBattery, {kCpu, kEncoder}, {kMachine}},
      {PowerSavingGovernor, {kCpu, kEncoder}, {kMachine}},
      {PowerSavingProfile, {kCpu, kEncoder}, {kMachine}},
      {PowerSavingTuning, {kCpu, kEncoder}, {kMachine}},
      {EncoderMissing, {kEncoder, kEncodeSessions}, {kMachine}},
      {EncoderRefused, {kEncoder, kEncodeSessions}, {kMachine}},
      {LevelUncommon, {}, {kDemand}},
      {DiskNotSteady, {kDisk}, {kDiskRun}},
      {DiskSteppedDown, {kDisk}, {kDiskRun}},
      {DiskOnUsb, {kDisk}, {kDiskRun}},
      {DiskRotates, {kDisk}, {kDiskRun}},
      {DiskShared, {kDisk}, {kDiskRun}},
      {FileScanners, {kDisk}, {}},
      {SpaceTooShort, {kSpace}, {}},
      {FolderNotWritable, {kSpace}, {}},
      {FileSizeLimit, {kFileSize}, {kDemand}},
      {SwapOnRecordingDisk, {kMemory, kDisk}, {kMachine}},
      {SwapInUse, {kMemory}, {}},
      {MemoryOffPrediction, {kMemory}, {}},
      {CaptureMissing, {kUsb}, {kWiring}},
      {ModeNotOffered, {kUsb}, {kWiring}},
      {BusRefusesStreams, {kUsb}, {kWiring}},
      {SettingTooSmall, {kUsb}, {kWiring}},
      {SharedHub, {kUsb}, {kWiring}},
      {SharedController, {kUsb}, {kWiring}},
      {SlowerThanItCould, {kUsb}, {kWiring}},
      {BulkNeighbour, {kUsb}, {kWiring}},
      {TranslatorFull, {kUsb}, {kWiring}},
      {HubPower, {kUsb}, {kWiring}},
      {Autosuspend, {kUsb}, {kWiring}},
      {UnreadDescriptors, {kUsb}, {kWiring}},
      {NoPictures, {kUsb}, {kWiring}},
      {MayBeFaster, {kUsb}, {kWiring}},
      {HubDepth, {kUsb}, {kWiring}},
      {PcieSharedUplink, {kPcie}, {kMachine}},
      {PcieLinkReduced, {kPcie}, {kMachine}},
      {PciePortNarrow, {kPcie}, {kMachine}},
      {PcieChipset, {kPcie}, {kMachine}},
      {PcieLinkSleep, {kPcie}, {kMachine}},
      {PcieSaving, {kPcie}, {kMachine}},
      {CableTooSlow, {kUsb}, {kProduction}},
      {CableLength, {kUsb}, {kProduction}},
      {ControlLength, {}, {kProduction}},
      {ControlSpeed, {}, {kProduction}},
      {ControlChainBreak, {}, {kProduction}},
      {RatesDiffer, {}, {kProduction}},
      {UplinkUnmeasured, {kUplink}, {kDemand}},
      {NetworkTooSlow, {kNetwork}, {kMachine}},
      {HalfDuplex, {kNetwork}, {kMachine}},
      {WirelessLink, {kNetwork}, {kMachine}},
      {NoRoute, {kNetwork}, {kMachine}},
      {NetworkErrors, {kNetwork}, {kMachine}},
      {TooFewDisplays, {kDisplays}, {kMachine}},
      {DisplayModeSmall, {kDisplays}, {kMachine}},
      {ClockNotSynchronised, {}, {kMachine}},
      {TwoClockKeepers, {}, {kMachine}},
      {SleepWhenIdle, {}, {kMachine}},
      {SleepOnLid, {}, {kMachine}},
      {SleepAllowed, {}, {kMachine}},
      {WorkTimers, {}, {kMachine}},
  };
  return all;
}

const Bearing* Find(Rule rule) {
  const auto found = std::find_if(Bearings().begin(), Bearings().end(),
                                  [&](const Bearing& one) { return one.rule == rule; });
  return found == Bearings().end() ? nullptr : &*found;
}

}  // namespace

void AddBearing(Rule rule, Finding& finding) {
  const Bearing* const found = Find(rule);
  if (found == nullptr) {
    return;
  }
  if (finding.bears_on.empty()) {
    finding.bears_on = found->bears_on;
  }
  if (finding.rests_on.empty()) {
    finding.rests_on = found->rests_on;
  }
}

bool HasBearing(Rule rule) {
  return Find(rule) != nullptr;
}

}  // namespace report::rules
