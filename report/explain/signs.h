// SPDX-License-Identifier: Apache-2.0
//
// Signs of trouble as series over time: what drops are held against to find their cause.

#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "bench/data/results.h"
#include "probes/data/telemetry.h"
#include "probes/data/watch_log.h"

namespace report {

/// Shares are 0 to 1 of all there is.
enum class Sign {
  kCpuFull,          // share of the CPUs at work or taken by the host, or of those usable by us
  kCpuIdle,          // share of the CPUs
  kOwn,              // share of the CPUs
  kOthers,           // share of the CPUs
  kSteal,            // share of the CPUs
  kRunWait,          // our threads ready to run but not running, s per s
  kOwnActivity,      // the same and our CPU use, s per s
  kHotThread,        // our busiest thread, in CPUs
  kFullestCore,      // share
  kQuotaThrottled,   // share of the quota's periods
  kClockRate,        // share of the run's highest
  kThrottleEvents,   // by heat or power
  kDiskWriteMs,      // of one finished write
  kDiskBusy,         // share of the time
  kWritersAsleep,    // share of our writers that sleep in a write
  kIoPressure,       // share of the time
  kMemoryPressure,   // share of the time
  kMajorFaults,      // ours, per second
  kSwapBytes,        // per second
  kReclaimStalls,    // per second
  kMemoryLimitHits,  // per second
  kRetransmits,      // per second
  kUnsentBytes,      // in our sockets
  kReceiverLimited,  // share of the time
  kWallClockStepMs,  // either way
  kSampleGap,        // s between two samples: the sampler's own heartbeat
  kEncodeBusy,       // share of the time inside an output's encoder
  kEncodeMs,         // of one picture
  kWriteBusy,        // share of the time inside an output's writer or sender
  // Of a watched program, beside a real production:
  kStopped,           // share of its processes stopped by a signal or a debugger
  kProgramRuns,       // 1 while it does
  kSlept,             // ms that the PC was suspended
  kGrowth,            // of the recordings, share of what is usual
  kRoomLeft,          // s that the recordings' file system holds at their usual growth
  kNetworkDrops,      // errors and drops of all links, per second
  kDatagramsDropped,  // receive buffers full, per second
  kGraphicsBusy,      // share of the busiest engine that the program uses
  kInterrupts,        // share of the CPU that serves most
  kUsbErrors,         // lines of the kernel's log in a sample
  kDiskErrors,        // the same
  // Of a recording, from its file:
  kHoleIsStep,   // how well the hole's length agrees with the clock's step, 0 to 1
  kRegularBeat,  // 1 where two rates explain all holes
  kCutShort,     // 1 where the file lacks its proper end, kNotClosed where that says little
  kRoundSize,    // 1 where the file is as long as a limit would make it
};

/// Of kCutShort: the writer did not close the file, as some never do.
inline constexpr double kNotClosed = 0.5;

/// How a sign is put in a sentence.
struct SignWords {
  const char* name;  // "CPU use of other processes"
  double scale = 1;  // to show it
  const char* unit = "";
  bool of_all_cpus = false;  // a share of all CPUs together
};
const SignWords& WordsOf(Sign sign);
/// The unit with what it is a share of. `cpus` 0: not known how many there are.
std::string UnitText(const SignWords& words, double cpus = 0);

/// One value that held from `from_s` to `to_s`.
struct SignPoint {
  double from_s = 0;
  double to_s = 0;
  double value = 0;
};

/// By sign and output; the PC's own signs have an empty output. In order of time.
using SignSeries = std::map<std::pair<Sign, std::string>, std::vector<SignPoint>>;

/// CPUs that the PC has, and those that we may use.
struct CpuCount {
  double all = 1;
  double usable = 1;
};

/// The PC's signs. What was not sampled has no points.
SignSeries SignsOf(const probes::TelemetryRecord& telemetry, const CpuCount& cpus);

/// Adds the signs that only a watched program has, over the samples of the log. Growth is compared
/// with its median while recordings grow.
void AddWatchSigns(const probes::WatchLog& log, SignSeries& series);

/// Adds what the stages of each output did, second by second.
void AddStageSigns(const bench::Rehearsal& rehearsal, SignSeries& series);

}  // namespace report
