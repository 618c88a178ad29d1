#include "report/explain_rules.h"

namespace report {
namespace {

// Limits are common practice or of our own trials with injected faults; where a
// limit is written down elsewhere, it is said beside it.
using enum Sign;

constexpr auto kNone = std::numeric_limits<double>::quiet_NaN();

SignTest AtLeast(Sign sign, double limit, double contrast, Take take = Take::kMean,
                 double alone = kNone) {
  return {sign, Bound::kAtLeast, limit, take, contrast, alone};
}

SignTest AtMost(Sign sign, double limit, double contrast, Take take = Take::kMean) {
  return {sign, Bound::kAtMost, limit, take, contrast, kNone};
}

/// Our threads are ready, and no CPU takes them.
SignGroup Starved(double contrast) {
  return {AtLeast(kRunWait, 0.3, contrast, Take::kMean, 0.5)};
}

/// The kernel's side of a writer that waits for its file.
SignGroup DiskSide() {
  return {AtLeast(kWritersAsleep, 0.2, 0.15), AtLeast(kDiskWriteMs, 100, 50, Take::kHighest),
          AtLeast(kIoPressure, 0.2, 0.1), AtLeast(kDiskBusy, 0.9, 0.2)};
}

std::vector<CauseRule> MakeRules() {
  const std::vector<std::string> writing{"write", ""};
  return {
      {"the whole program stood still",
       {},
       {{AtLeast(kSampleGap, 0.7, 0.4, Take::kHighest)},
        {AtMost(kOwnActivity, 0.15, 0.1, Take::kLowest)}},
       "Find what stopped the program or the PC: sleep, a debugger, a host that was paused."},
      {"network sink slow",
       {"send", ""},
       {{AtLeast(kWriteBusy, 0.5, 0.3, Take::kHighest)},
        {AtLeast(kReceiverLimited, 0.3, 0.2), AtLeast(kRetransmits, 2, 2),
         AtLeast(kUnsentBytes, 16e3, 8e3, Take::kLowest)}},
       "Lower the stream's bit rate, or mend the way it takes: cable instead of radio, a server "
       "that keeps up. Keep the recording apart from the stream."},
      {"memory pressure",
       {},
       // An example of the kernel's PSI page: stalls of 50 ms in a second.
       {{AtLeast(kMajorFaults, 20, 20)},
        {AtLeast(kMemoryLimitHits, 10, 10), AtLeast(kSwapBytes, 1e6, 1e6),
         AtLeast(kReclaimStalls, 2, 2), AtLeast(kMemoryPressure, 0.05, 0.03)}},
       "Close what else needs memory, add RAM, or raise the memory limit of the group."},
      {"disk stall",
       writing,
       {{AtLeast(kWriteBusy, 0.8, 0.4, Take::kHighest)}, DiskSide()},
       "Find what holds the disk up now and then: a full write cache, trim, another program's "
       "flushes, a failing drive; or record to another disk."},
      {"CPU quota",
       {},
       {{AtLeast(kQuotaThrottled, 0.2, 0.1)}, {AtLeast(kRunWait, 0.3, 0.1)}},
       "Run outside the container or group that has the quota, or raise it."},
      {"slowed by heat or power",
       {},
       {{AtLeast(kThrottleEvents, 1, 1, Take::kHighest)}, {AtMost(kClockRate, 0.9, 0.05)}},
       "Cool the PC better, choose mains and a power plan without limits, or encode less."},
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
      {"one hot thread",
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

}  // namespace

const std::vector<CauseRule>& CauseRules() {
  static const std::vector<CauseRule> rules = MakeRules();
  return rules;
}

}  // namespace report
