// SPDX-License-Identifier: Apache-2.0

#include "report/explain/rules.h"

#include "report/explain/explain.h"
#include "report/recordings/recording_limits.h"
#include "report/words/cautions.h"

namespace report {
namespace {

// Limits are common practice or of our own trials with injected faults; where a
// limit is written down elsewhere, it is said beside it.
using enum Sign;
using bench::Stage;

/// As contrast: whatever clean stretches show.
constexpr double kAnyway = -std::numeric_limits<double>::infinity();
constexpr auto kNone = std::numeric_limits<double>::quiet_NaN();

SignTest AtLeast(Sign sign, double limit, double contrast, Take take = Take::kMean,
                 double alone = kNone) {
  return {sign, Bound::kAtLeast, limit, take, contrast, alone};
}

SignTest AtMost(Sign sign, double limit, double contrast, Take take = Take::kMean,
                double alone = kNone) {
  return {sign, Bound::kAtMost, limit, take, contrast, alone};
}

constexpr char kProgramStopped[] = "the recording program was stopped";
constexpr char kDiskFull[] = "disk full";
constexpr char kSizeLimit[] = "file-size limit";
constexpr char kWhoStopped[] =
    "Find who stopped it: a debugger, a signal of job control, a freezer of the desktop.";
constexpr char kFreeSpace[] = "Free space before the show: 1.2 x rate x length (common practice).";
constexpr char kWithoutLimit[] =
    "Record to a file system without that limit, raise the program's limit (ulimit -f), or let "
    "recordings be split.";
/// A stop of all processes for a third of the hole: buffers make the one longer than the other.
constexpr double kStopOfHole = 0.33;
/// Less than what any writer keeps in hand.
constexpr double kNoRoomSeconds = 0.05;

/// Seconds a second that a program of many threads waits for CPUs which rest: where nothing shows
/// what is usual, only more than this is want (our own trials).
constexpr double kStarvedAlone = 0.5;

/// Our threads are ready, and no CPU takes them.
SignGroup Starved(double contrast) {
  return {AtLeast(kRunWait, 0.3, contrast, Take::kMean, kStarvedAlone)};
}

/// The program did nothing for a while.
SignGroup AtRest() {
  return {AtMost(kOwnActivity, 0.15, 0.1, Take::kLowest), AtMost(kGrowth, 0.2, 0.3, Take::kLowest)};
}

/// The kernel's side of a writer that waits for its file.
SignGroup DiskSide() {
  return {AtLeast(kWritersAsleep, 0.2, 0.15), AtLeast(kDiskWriteMs, 100, 50, Take::kHighest),
          AtLeast(kIoPressure, 0.2, 0.1), AtLeast(kDiskBusy, 0.9, 0.2)};
}

/// Nothing of ours waited for the CPU, or no more than where nothing is missing.
SignGroup AtEase() {
  constexpr double kAnything = 1000;
  return {AtMost(kRunWait, 0.3, kAnyway, Take::kMean, kStarvedAlone),
          AtMost(kRunWait, kAnything, -0.05, Take::kMean, kStarvedAlone)};
}

/// The program's own side of a file that takes nothing.
SignGroup FileSide() {
  return {AtMost(kGrowth, 0.5, 0.3, Take::kLowest), AtLeast(kCpuIdle, 0.1, kAnyway)};
}

/// What a recording and the PC's clocks tell together.
std::vector<CauseRule> TimeRules() {
  const std::vector<Stage> recording{Stage::kNone};
  return {
      {kClockStep,
       recording,
       {{AtLeast(kHoleIsStep, 0.8, kAnyway, Take::kHighest)},
        {AtLeast(kWallClockStepMs, 40, 40, Take::kHighest)}},
       "Nothing is missing there: the times jump. Let the clock be set before the show and slewed "
       "during it, or record with stamps of the devices' or the monotonic clock.",
       true},
      {"rate mismatch",
       recording,
       {{AtLeast(kRegularBeat, 1, kAnyway)}, AtEase()},
       "Set camera, program and recording to exactly one rate: 59.94 is not 60, 23.98 is not 24."},
      {"the PC slept",
       recording,
       {{AtLeast(kSlept, 100, 100, Take::kHighest)},
        {AtLeast(kWallClockStepMs, 100, 100, Take::kHighest)}},
       "Switch sleep off for the show: power profile, lid, mains.",
       true},
      {kProgramStopped,
       recording,
       {{AtLeast(kStopped, kStopOfHole, kStopOfHole / 2, Take::kHowOften)}, AtRest()},
       kWhoStopped,
       true},
      // One process of several: only if the program did less meanwhile.
      {kProgramStopped,
       recording,
       {{AtLeast(kStopped, 0.1, 0.1, Take::kHighest)}, AtRest()},
       kWhoStopped},
      {kDiskFull,
       recording,
       {{AtMost(kRoomLeft, kNoRoomSeconds, kAnyway, Take::kLowest)}},
       kFreeSpace,
       true},
  };
}

/// Why a recording ends before it should.
std::vector<CauseRule> EndRules() {
  const std::vector<Stage> end{Stage::kEnd};
  return {
      {kDiskFull,
       end,
       {{AtMost(kRoomLeft, kNoRoomSeconds, kAnyway, Take::kLowest)}},
       kFreeSpace,
       true},
      {kDiskFull,
       end,
       {{AtMost(kRoomLeft, 5, kAnyway, Take::kLowest)}, {AtLeast(kCutShort, 1, kAnyway)}},
       kFreeSpace},
      {kDiskFull,
       end,
       {{AtMost(kRoomLeft, 1, kAnyway, Take::kLowest)}, {AtLeast(kCutShort, kNotClosed, kAnyway)}},
       kFreeSpace},
      {kSizeLimit, end, {{AtLeast(kRoundSize, kKnownLimit, kAnyway)}}, kWithoutLimit, true},
      {kSizeLimit,
       end,
       {{AtLeast(kRoundSize, kWholeMebibytes, kAnyway)},
        {AtLeast(kCutShort, 1, kAnyway)},
        {AtLeast(kRoomLeft, 10, kAnyway, Take::kLowest)}},
       kWithoutLimit},
      {kProgramEnded,
       end,
       {{AtLeast(kCutShort, 1, kAnyway)}, {AtMost(kProgramRuns, 0.5, kAnyway, Take::kLowest)}},
       "Check its own log and the kernel log for why it ended: memory, a crash, a user."},
  };
}

/// What the program writes to: its disk, its network.
std::vector<CauseRule> SinkRules() {
  return {
      {"disk stall",
       {Stage::kNone},
       {DiskSide(), AtEase(), FileSide()},
       "Find what holds the disk up now and then."},
      {"network sink slow",
       {Stage::kNone},
       {{AtLeast(kRetransmits, 2, 2), AtLeast(kNetworkDrops, 1, 1)}, AtEase()},
       "Lower the stream's bit rate, or repair the way it takes."},
      // A way that holds back instead of losing: what is to be sent waits, and so does the program.
      {"network sink slow",
       {Stage::kNone},
       {{AtLeast(kUnsentBytes, 16e3, 8e3)},
        {AtMost(kOwnActivity, 0.15, 0.1, Take::kLowest)},
        AtEase()},
       "Lower the stream's bit rate, or repair the way it takes."},
      {"network input not taken in time",
       {Stage::kNone},
       {{AtLeast(kDatagramsDropped, 1, 1)},
        {AtLeast(kRunWait, 0.3, 0.1), AtLeast(kInterrupts, 0.2, 0.1)}},
       "Larger receive buffers, less beside the show."},
      {"errors on USB",
       {Stage::kNone},
       {{AtLeast(kUsbErrors, 1, 1, Take::kHighest)}, AtEase()},
       "Change cable and port, leave hubs without power of their own out."},
  };
}

/// What stages of ours, or a watched program, ran short of.
std::vector<CauseRule> ShortageRules() {
  const std::vector<Stage> writing{Stage::kWrite, Stage::kNone};
  return {
      {"the whole program stood still",
       {},
       {{AtLeast(kSampleGap, 0.7, 0.4, Take::kHighest)},
        {AtMost(kOwnActivity, 0.15, 0.1, Take::kLowest)}},
       "Find what stopped the program or the PC: sleep, a debugger, a host that was paused."},
      {"network sink slow",
       {Stage::kSend, Stage::kNone},
       {{AtLeast(kWriteBusy, 0.5, 0.3, Take::kHighest)},
        {AtLeast(kReceiverLimited, 0.3, 0.2), AtLeast(kRetransmits, 2, 2),
         AtLeast(kUnsentBytes, 16e3, 8e3, Take::kLowest)}},
       "Lower the stream's bit rate, or repair the way it takes: cable instead of radio, a server "
       "that keeps up. Keep the recording apart from the stream."},
      {"memory pressure",
       {},
       // An example of the kernel's PSI page: stalls of 50 ms in a second.
       {{AtLeast(kMajorFaults, 20, 20)},
        {AtLeast(kMemoryLimitHits, 10, 10), AtLeast(kSwapBytes, 1e6, 1e6),
         AtLeast(kReclaimStalls, 2, 2), AtLeast(kMemoryPressure, 0.05, 0.03)}},
       WithCaution("Close what else needs memory, add RAM, or raise the memory limit of the group.",
                   kCautionInside)},
      // A group at its limit waits for its own pages to be written and dropped, without one fault.
      {"memory pressure",
       {},
       {{AtLeast(kMemoryLimitHits, 10, 10)}, {AtLeast(kMemoryPressure, 0.05, 0.03)}},
       WithCaution("Close what else needs memory, add RAM, or raise the memory limit of the group.",
                   kCautionInside)},
      {"disk stall",
       writing,
       {{AtLeast(kWriteBusy, 0.8, 0.4, Take::kHighest)}, DiskSide()},
       "Find what holds the disk up now and then: a full write cache, trim, another program's "
       "flushes, a failing drive; or record to another disk."},
  };
}

/// What stages lack of the CPU.
std::vector<CauseRule> CpuRules() {
  return {
      {"CPU quota",
       {},
       {{AtLeast(kQuotaThrottled, 0.2, 0.1), AtLeast(kQuotaThrottled, 0.5, kAnyway)},
        {AtLeast(kRunWait, 0.3, 0.1)}},
       "Run outside the container or group that has the quota, or raise it."},
      {"slowed by heat or power",
       {},
       {{AtLeast(kThrottleEvents, 1, 1, Take::kHighest)}, {AtMost(kClockRate, 0.9, 0.05)}},
       WithCaution(
           "Clean the PC's fans and filters, give it air, run it from mains power, or encode less.",
           kCautionInside)},
      {"host steal",
       {},
       {{AtLeast(kSteal, 0.05, 0.03)},
        {AtLeast(kRunWait, 0.3, 0.1), AtLeast(kEncodeBusy, 0.9, 0.1)}},
       "Reserve CPUs for this guest, or run the show on a PC of its own."},
      {"CPU taken by another process",
       {},
       {{AtLeast(kOthers, 0.12, 0.08, Take::kMean, 0.25)},
        Starved(0.15),
        {AtLeast(kCpuFull, 0.85, 0)}},
       "Close or postpone these programs for the show."},
      {"one thread fills a CPU core",
       {},
       {{AtLeast(kHotThread, 0.85, 0.08), AtLeast(kFullestCore, 0.93, 0.05)},
        {AtLeast(kRunWait, 0.5, 0.15), AtLeast(kEncodeBusy, 0.85, 0.1)},
        {AtLeast(kCpuIdle, 0.2, -1)}},
       "Give the encoder more threads, a lower effort or a hardware encoder: one CPU alone is "
       "full while others rest."},
      {"encoder saturated",
       {},
       {{AtLeast(kCpuFull, 0.85, 0.05)},
        {AtLeast(kRunWait, 0.5, 0.15), AtLeast(kEncodeBusy, 0.85, 0.1)},
        {AtLeast(kOwn, 0.4, 0)}},
       "Lower the effort, raster, rate or number of encodes, or use a hardware encoder."},
  };
}

std::vector<CauseRule> MakeRules() {
  std::vector<CauseRule> rules = TimeRules();
  for (const auto& more : {EndRules(), ShortageRules(), CpuRules(), SinkRules()}) {
    rules.insert(rules.end(), more.begin(), more.end());
  }
  return rules;
}

}  // namespace

const std::vector<CauseRule>& CauseRules() {
  static const std::vector<CauseRule> rules = MakeRules();
  return rules;
}

}  // namespace report
