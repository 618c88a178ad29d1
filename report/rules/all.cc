// SPDX-License-Identifier: Apache-2.0
//
// Every rule in one explicit table.

#include "report/rules/all.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>

#include "report/rules/bearings.h"
#include "report/rules/rules.h"

namespace report::rules {
namespace {

// What was seen to go wrong first, then what will, then what may.
constexpr std::array kRules = std::to_array<Rule>({
    OthersBusy,
    CausesOfDrops,
    DroppedFrames,
    SpeedStepped,
    RehearsalCutShort,
    OutputFailed,
    EncoderMissing,
    ResourceShort,
    LinkOversubscribed,
    SpaceTooShort,
    FileSizeLimit,
    FolderNotWritable,
    CaptureMissing,
    NoPictures,
    ModeNotOffered,
    BusRefusesStreams,
    SettingTooSmall,
    SharedHub,
    SharedController,
    SlowerThanItCould,
    BulkNeighbour,
    TranslatorFull,
    HubPower,
    Autosuspend,
    UnreadDescriptors,
    MayBeFaster,
    HubDepth,
    PcieSharedUplink,
    PcieLinkReduced,
    PciePortNarrow,
    PcieChipset,
    PcieLinkSleep,
    CableTooSlow,
    CableLength,
    ControlLength,
    ControlSpeed,
    LateFrames,
    CpuThrottled,
    CpuHeldBack,
    QuotaThrottled,
    HostSteal,
    RunningOnBattery,
    PowerSavingGovernor,
    PowerSavingProfile,
    PowerSavingTuning,
    SleepWhenIdle,
    SleepOnLid,
    WorkTimers,
    PcieSaving,
    BoostState,
    DeepIdleStates,
    DiskNotSteady,
    DiskSteppedDown,
    DiskOnUsb,
    DiskRotates,
    DiskShared,
    SwapOnRecordingDisk,
    EncoderRefused,
    LevelUncommon,
    UplinkUnmeasured,
    NetworkTooSlow,
    HalfDuplex,
    WirelessLink,
    NoRoute,
    NetworkErrors,
    TooFewDisplays,
    DisplayModeSmall,
    SwapInUse,
    MemoryOffPrediction,
    ClockNotSynchronised,
    TwoClockKeepers,
    SleepAllowed,
    RatesDiffer,
    ControlChainBreak,
    VirtualMachine,
    FileScanners,
    ProbesFailed,
});

// They judge links and displays, which a rehearsal alone leaves to a qualification.
constexpr std::array kNotOfARehearsal = std::to_array<Rule>(
    {BusRefusesStreams, SettingTooSmall, PcieSharedUplink, CableTooSlow, TooFewDisplays});

bool Judges(const RuleInput& input, Rule rule) {
  return input.facts.evidence.length != kRehearsalOnly ||
         std::find(kNotOfARehearsal.begin(), kNotOfARehearsal.end(), rule) ==
             kNotOfARehearsal.end();
}

// What a test shows that was not fair, and would not be short anyway, stops no show.
void LowerIfUnfair(const FairTest& test, std::vector<Finding>& findings) {
  if (test.fair.value_or(true) || test.short_anyway) {
    return;
  }
  for (Finding& finding : findings) {
    finding.severity = std::max(finding.severity, Severity::kWarn);
  }
}

}  // namespace

Finding NewFinding(std::string id, Severity severity) {
  Finding finding;
  finding.id = std::move(id);
  finding.severity = severity;
  return finding;
}

std::span<const Rule> AllRules() {
  return kRules;
}

std::vector<Finding> AllFindings(const RuleInput& input) {
  std::vector<Finding> findings;
  for (const Rule rule : kRules) {
    if (!Judges(input, rule)) {
      continue;
    }
    const std::size_t before = findings.size();
    rule(input, findings);
    for (std::size_t i = before; i < findings.size(); ++i) {
      AddBearing(rule, findings[i]);
    }
  }
  LowerIfUnfair(input.fair_test, findings);
  std::stable_sort(findings.begin(), findings.end(), [](const Finding& a, const Finding& b) {
    return static_cast<int>(a.severity) < static_cast<int>(b.severity);
  });
  return findings;
}

std::vector<Finding> LinkFindings(const RuleInput& input) {
  std::vector<Finding> findings;
  for (const Rule rule : {LinkOversubscribed, BusRefusesStreams, SettingTooSmall, SharedHub,
                          SharedController, SlowerThanItCould, BulkNeighbour, TranslatorFull}) {
    rule(input, findings);
  }
  return findings;
}

}  // namespace report::rules
