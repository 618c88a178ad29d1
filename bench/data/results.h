// SPDX-License-Identifier: Apache-2.0
//
// Everything that a run measured: ledgers, stage costs, disk, micro-costs.

#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "bench/data/load_kind.h"
#include "bench/data/stage.h"
#include "profiles/profile.h"

namespace bench {

/// Frames of one output that fell due within one second of the run.
/// due == delivered + dropped holds in every window and in total.
struct LedgerWindow {
  std::int64_t due = 0;
  std::int64_t delivered = 0;
  std::int64_t dropped = 0;
  std::int64_t late = 0;  // of the delivered

  bool operator==(const LedgerWindow&) const = default;
};

/// Lateness of delivered frames: time from the due moment of the newest frame
/// the encoder had taken to the packet's write. Look-ahead is not lateness.
struct Lateness {
  double p50_ms = 0;
  double p95_ms = 0;
  double p99_ms = 0;
  double max_ms = 0;
  struct Bucket {
    double up_to_ms = 0;
    std::int64_t frames = 0;
  };
  std::vector<Bucket> histogram;  // ascending, empty buckets left out
};

/// What the threads of one output did within one second of the run. A call
/// that spans several seconds counts in each of them.
struct StageSecond {
  std::int64_t encoded = 0;      // pictures that the encoder took
  double encode_busy = 0;        // share of the second inside the encoder
  double encode_longest_ms = 0;  // longest stay for one picture, of those that ended here
  double write_busy = 0;         // share of the second inside the writer or sender
  double write_longest_ms = 0;
};

/// The account of one output.
struct OutputLedger {
  std::string name;
  profiles::OutputKind kind = profiles::OutputKind::kRecording;
  std::string takes;    // "program", "multiview" or a source
  std::string encoder;  // FFmpeg's name of the encoder that ran
  int encoder_threads = 0;
  std::int64_t due = 0;
  std::int64_t delivered = 0;
  std::int64_t dropped = 0;
  std::int64_t late = 0;
  std::int64_t warm_up_dropped = 0;  // of the dropped, before the warm-up ended
  std::int64_t withdrawn = 0;        // still in flight when the run was interrupted; not due
  std::vector<LedgerWindow> seconds;
  std::vector<StageSecond> work;
  Lateness lateness;
  std::int64_t received = -1;  // pictures that the loopback sink counted; -1: no sink
  std::int64_t bytes = 0;
  int encoder_delay_frames = 0;
  double encoder_busy = 0;  // share of the run that the encode stage was at work
  double write_busy = 0;
  std::string failure;  // why it ended early; empty when it did not
  // Its encode: its own name, or the names of all outputs that share it, as in StageCost::item.
  std::string encode;
};

/// The account of one simulated source at the capture queue.
struct FeedLedger {
  std::string name;
  std::int64_t due = 0;
  std::int64_t delivered = 0;
  std::int64_t dropped = 0;
  std::vector<LedgerWindow> seconds;
  double prepare_seconds = 0;  // making its content before the run
  std::int64_t ring_bytes = 0;
  std::string transport;                 // "rtp", "rtsp"; empty: handed over in memory
  std::string decoder;                   // FFmpeg's name of it; empty: frames arrive raw
  std::int64_t packets_received = 0;     // at the socket, by RTP header
  std::int64_t packets_lost = 0;         // by gaps in the sequence numbers
  std::int64_t pictures_incomplete = 0;  // arrived, but short of a packet: counted as dropped
  std::int64_t socket_buffer_bytes = 0;  // that the kernel granted the receiver; 0: no socket
};

/// Consecutive drops of one output with one reason.
struct DropRun {
  std::string output;
  double at_s = 0;
  std::int64_t frames = 0;
  Stage stage = Stage::kNone;
  std::string cause;  // "not known" unless telemetry shows one
};

/// CPU of one stage over the whole run, its encoder's own threads included.
struct StageCost {
  Stage stage = Stage::kNone;
  std::string item;  // the source, the output, or outputs with one encode: "Recording + Stream"
  std::int64_t frames = 0;
  double cpu_seconds = 0;
};

/// One real-time run of the whole profile.
struct Rehearsal {
  std::int64_t zero_ns = 0;  // of the monotonic clock where production time is 0
  bool complete = false;
  std::string stopped_because;  // empty when complete
  double seconds = 0;           // of real time, warm-up included
  double warm_up_seconds = 0;
  std::vector<OutputLedger> outputs;
  std::vector<FeedLedger> feeds;
  std::vector<DropRun> drops;
  std::int64_t drop_runs_left_out = 0;  // beyond what `drops` keeps
  std::vector<StageCost> stages;
  double cpu_seconds = 0;             // whole process during the run
  double simulation_cpu_seconds = 0;  // of it: what IsSimulation() is true of
  std::int64_t peak_resident_bytes = 0;
  std::int64_t predicted_resident_bytes =
      0;                               // before the run: program and feeds, plus the memory demand
  std::string writeback_policy;        // how file data is kept from piling up in memory
  std::vector<std::string> plan;       // choices made: encoder, threads, queues
  double drops_per_hour_upper_95 = 0;  // exact Poisson bound from the judged frames
};

/// The same pipeline run as fast as it goes: feeds wait instead of dropping. Speeds are of what the
/// outputs delivered, mean over them.
struct FlatOut {
  bool complete = false;
  std::string stopped_because;  // empty when complete
  double seconds = 0;
  double speed = 0;  // times real time, a low percentile of its windows
  std::vector<double> window_speeds;
  double cpu_seconds = 0;
};

/// The same with sources added, near where the PC is full: what one feed alone does not tell of
/// encoders that share threads, and of many light feeds.
struct GrownFlatOut {
  std::string like;  // the source of the profile that the added ones resemble
  int added = 0;
  FlatOut run;
};

/// Sequential write to the recording folder until the rate is steady.
struct DiskRun {
  std::string folder;
  std::string method;  // "direct" or "paced", with block size
  std::int64_t bytes = 0;
  double seconds = 0;
  double sustained_bytes_per_second = 0;
  bool steady = false;           // SNIA PTS criterion met
  double excursion_percent = 0;  // (max - min) / mean in the steady window
  double slope_percent = 0;
  std::vector<double> window_bytes_per_second;
  double window_seconds = 0;
  std::optional<double> step_at_s;  // where the rate stepped, if it did
  std::optional<double> step_ratio;
  std::string stopped_because;
};

/// Form of the sound that a rehearsal encodes.
inline constexpr char kSoundForm[] = "aac";

/// What one frame of a cost is made of: that by which it is found.
struct CostSubject {
  int width = 0;  // of the picture, of a scaled one before; 0: sound
  int height = 0;
  std::string form;  // pixel format or codec that comes in, encoder; empty for a drawn picture
  std::optional<profiles::Effort> effort = {};    // of an encode, as the rest
  std::optional<profiles::Content> content = {};  // that it shows
  int bitrate_kbps = 0;

  bool operator==(const CostSubject&) const = default;
};

/// CPU and wall time of one stage for one frame, from the costs program.
struct CostEntry {
  Stage stage = Stage::kNone;
  std::string detail;  // the same for people: "1280x720 nv12", "1280x720 libx264 low talk"
  double cpu_ms = 0;
  double wall_ms = 0;
  std::int64_t iterations = 0;
  std::optional<CostSubject> of = {};  // nothing: not told
};

struct CostTable {
  std::vector<CostEntry> entries;
  std::string failure;  // why there are none, or why some are missing
};

/// Pictures a second that `workers` encodes make together, each on one thread.
struct ContentionPoint {
  int workers = 0;
  double per_second = 0;
};

/// The same work by one worker, two ... up to all CPUs at once: how much they
/// stand in each other's way.
struct Contention {
  std::string work;                     // what each worker did
  std::vector<ContentionPoint> points;  // workers ascending
  double memory_bytes_per_second = 0;   // read and written by copies on all CPUs at once
  double seconds = 0;                   // what measuring took
  std::string failure;
};

/// A hardware encoder kept open as often as the production and its growth need it.
struct HardwareEncode {
  std::string encoder;
  std::string codec;
  int width = 0;
  int height = 0;
  int wanted = 0;             // sessions that were tried
  int sessions = 0;           // of these, open at once
  double one_per_second = 0;  // pictures, one session alone
  double all_per_second = 0;  // pictures, all open sessions in turn
  std::string refusal;        // FFmpeg's reason where fewer opened than wanted
};

/// One rehearsal of the profile with sources added.
struct SearchRun {
  int added = 0;
  double seconds = 0;  // judged
  std::int64_t due = 0;
  std::int64_t dropped = 0;  // judged frames, of outputs and at capture
  double load = 0;           // CPU time used, as a share of what there was
  bool carried = false;
  Stage stage = Stage::kNone;  // that lost most frames; kNone where none did
};

/// The search for how many sources more are carried.
struct CapacitySearch {
  std::string like;  // the source of the profile that the added ones resemble
  int predicted = 0;
  int limit = 0;                 // most that were to be tried
  std::optional<int> confirmed;  // carried, and one more was not, or was beyond the limit
  std::vector<SearchRun> runs;   // in order
  double seconds = 0;
  std::string stopped_because;  // why nothing was confirmed; empty when it was
};

/// One level of extra load, held beside the running production.
struct BallastStep {
  double at_s = 0;             // begin of the judged part, since the ballast run began
  double seconds = 0;          // judged
  double asked = 0;            // in the run's unit
  double used = 0;             // the same, as measured
  double ballast_cpus = 0;     // CPU that the ballast took, in CPUs
  double production_cpus = 0;  // CPU of the rest of this process meanwhile
  std::int64_t dropped = 0;
  std::int64_t late = 0;
  bool carried = false;
};

/// Extra load of one kind, searched for the most that the production carries.
struct BallastRun {
  LoadKind kind = LoadKind::kCpu;
  std::string item;                  // the folder of kDisk; else empty
  std::string unit;                  // "CPUs", "bytes/s"
  std::string method;                // what the load is made of
  bool complete = false;             // the interval is as narrow as was asked for, and confirmed
  std::optional<double> carried;     // most that no frame dropped at, as measured
  std::optional<double> dropped_at;  // least that frames dropped at; absent: none did at the most
  double own_use = 0;                // the production's own, without ballast
  std::string own_basis;             // "measured", "computed"
  int carried_holds = 0;             // times that the carried level held
  int dropped_holds = 0;             // times that the level above it dropped
  double seconds = 0;
  std::vector<BallastStep> steps;  // in order; the first is the production by itself
  std::string stopped_because;     // empty when complete
};

/// All that one qualification measured; what was not run is absent.
struct Results {
  std::optional<CostTable> costs;
  std::vector<DiskRun> disks;
  std::optional<Rehearsal> rehearsal;
  std::optional<FlatOut> flat_out;
  std::vector<GrownFlatOut> grown_flat_out;  // in the order in which they were made
  std::optional<Contention> contention;
  std::vector<HardwareEncode> hardware_encodes;
  std::optional<CapacitySearch> search;
  std::vector<BallastRun> ballast;
};

}  // namespace bench
