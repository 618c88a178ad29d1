// SPDX-License-Identifier: Apache-2.0
//
// The one value that every writer gets: verdict, headroom, findings and the evidence behind them.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/reading.h"
#include "bench/data/results.h"
#include "probes/data/inventory.h"
#include "probes/data/telemetry.h"
#include "profiles/demand/demand.h"
#include "profiles/profile.h"
#include "report/data/report_part.h"
#include "report/data/resource.h"
#include "report/data/subject.h"

namespace report {

enum class Verdict { kReady, kTight, kShort, kUnproven };
enum class Severity { kStop, kWarn, kNote };
/// How a capacity is known.
enum class Basis { kMeasured, kComputed, kRead, kAssumed };

/// One resource against its margin. When `capacity` is absent the resource is
/// unproven and `how_to_prove` says what would prove it.
struct Headroom {
  Resource resource = Resource::kCpu;
  std::string item;  // which link, folder, output; empty when there is one
  double demand = 0;
  std::optional<double> capacity;
  std::string unit;
  std::optional<double> headroom_percent;
  double margin_percent = 0;
  Basis basis = Basis::kComputed;
  std::string source;  // where demand and capacity come from, one line
  std::string how_to_prove;
  std::vector<Subject> about = {};  // the link, the folder ... ; empty: the whole PC
};

/// What extra load showed of one resource, beside what arithmetic says.
struct BallastFigure {
  Resource resource = Resource::kCpu;
  std::string item;
  std::string unit;
  double own = 0;                      // the production's own use
  std::optional<double> carried;       // extra load without a drop
  std::optional<double> dropped_at;    // extra load with drops; absent: none was found
  std::optional<double> low_percent;   // headroom that was carried
  std::optional<double> high_percent;  // headroom at which frames dropped
  std::optional<double> arithmetic_percent;
  std::optional<double> margin_percent;
  std::string standing;          // one sentence: the interval against the margin
  std::vector<std::string> why;  // evidence of what makes the two figures differ
};

struct Finding {
  std::string id;  // "usb-shared-hub"; stable
  Severity severity = Severity::kNote;
  std::string title;
  std::vector<std::string> evidence;
  std::string action;
  std::vector<Subject> about = {};        // what it is about; a finding about the whole PC has none
  std::vector<Resource> bears_on = {};    // what it takes from
  std::vector<ReportPart> rests_on = {};  // where its evidence is shown, headroom aside
  std::int64_t lost_frames = 0;           // of the judged ones, that it tells the reason of
  std::optional<Resource> taken_by_others = {};  // set where it is of what other programs took
};

enum class NodeKind { kController, kRootHub, kHub, kCapture, kStorage, kNetwork, kAudio, kOther };

/// One link of the wiring: the upstream side of a hub or device, and its load.
struct WiringNode {
  std::string path;   // "2-1.4", or a controller's address
  std::string label;  // text as the device gives it; writers escape it
  NodeKind kind = NodeKind::kOther;
  int depth = 0;  // 0 = controller
  double speed_mbps = 0;
  std::optional<double> demand_bytes_per_second;    // of the captures at and below it
  std::optional<double> capacity_bytes_per_second;  // usable for them
  std::vector<std::string> finding_ids;
  // Bus time that isochronous captures at and below it hold of each microframe (125 us; of each
  // frame, 1000 us, on a full-speed link), and the most that may be held.
  std::optional<double> reserved_us = {};
  std::optional<double> reservable_us = {};
  std::optional<double> used_percent = {};  // the larger share of the two; nothing: not known
  std::string remark = {};  // what a capture streams and how, what else bears on the link
  bool assumed = false;     // some of the demand is: compressed pictures
};

/// What one capture device asks of its USB link.
struct CaptureStream {
  std::string path;    // of the device
  std::string source;  // of the profile; empty: none uses it, and this is the heaviest it offers
  std::string mode;    // "1920x1080 yuyv422 at 29.97"
  probes::TransferType transfer = probes::TransferType::kIsochronous;
  double bytes_per_second = 0;     // of pictures
  std::int64_t payload_bytes = 0;  // of one payload with its header: what an interval must hold
  std::optional<int> alternate_setting;  // that holds it; nothing: bulk, none holds it, or not read
  std::int64_t reserved_bytes = 0;       // in each interval; 0 for bulk
  double reserved_us = 0;                // of bus time in each microframe (frame at full speed)
  bool setting_too_small = false;        // no alternate setting holds the payload
  bool assumed = false;  // compressed: the device says its payload only when it starts
};

/// One plug to another port.
struct Move {
  std::string path;      // of the device before, "2-1.2"
  std::string device;    // its name
  std::string source;    // that it carries; empty: none
  std::string from;      // the port's name in the system, "2-1-port2"
  std::string to;        // "usb4-port1"
  std::string new_path;  // of the device then, "4-1"
  std::string text;      // what to do, in a sentence
};

/// The capture devices on the ports of this PC with the least full links, compared from the fullest
/// down, by the fewest moves.
struct MovePlan {
  std::vector<Move> moves;    // in the order to do them; empty: as it is, it is best
  double percent_before = 0;  // share in use of the worst link
  double percent_after = 0;
  std::string worst_before;  // that link
  std::string worst_after;
  int devices = 0;                 // captures that may be moved
  int free_ports = 0;              // offered to them
  bool every_way = false;          // all ways to place them were looked at
  std::vector<std::string> why;    // what decides it, a sentence each
  std::vector<std::string> mends;  // titles of findings that are gone then
  std::vector<WiringNode> wiring;  // after the moves, depth first; empty without moves
};

/// What one more source of a kind asks of one resource.
struct ResourceShare {
  Resource resource = Resource::kCpu;
  std::string item;
  double now = 0;   // the production as it is
  double each = 0;  // added by one more source, with its isos
  std::optional<double> capacity;
  std::string unit;
  Basis basis = Basis::kMeasured;  // of now and each
  std::string source;              // where the figures come from, one line
};

/// How many more sources like one of the profile's fit.
struct SourceRoom {
  std::string like;   // the first source of the kind
  std::string what;   // "1280x720 nv12 at 25 by usb, with 1 iso"
  int present = 0;    // of the kind in the profile
  int predicted = 0;  // more, without drops
  int lowest = 0;     // interval of `predicted`
  int highest = 0;
  int within_margins = 0;  // more, every margin kept
  int limit = 0;           // most that were looked at
  std::string limited_by;  // what runs out first; empty when nothing does up to the limit
  std::string margins_limited_by;
  std::vector<ResourceShare> shares;
  std::vector<std::string> not_told;  // what an added source needs and nothing tells of
};

/// Room for more sources. The first four members are stable keys of result.json.
struct Capacity {
  int added_sources_predicted = 0;             // of the kind that the profile has most of
  std::vector<int> interval;                   // lowest and highest
  std::optional<int> added_sources_confirmed;  // by rehearsing that many, and one more
  std::string limited_by;
  std::string like;
  std::vector<SourceRoom> sources;  // one for each kind
  std::vector<std::string> basis;   // the model and its law, a line each
};

/// Drops with one cause, and why that cause is named.
struct DropCause {
  std::string cause;   // "CPU taken by another process" ... or "not known"
  std::string detail;  // "indexer (process 99)"; may be empty
  std::int64_t frames = 0;
  std::int64_t runs = 0;
  double first_s = 0;
  double last_s = 0;
  std::vector<bench::Stage> stages;
  std::vector<std::string> outputs;
  std::vector<std::string> evidence_for;
  std::vector<std::string> evidence_against;  // why it is not another cause
  std::string action;
};

/// A lasting change for the worse within the run.
struct SpeedStep {
  std::string series;  // "encode time of Recording", "full-speed run"
  double at_s = 0;
  double before = 0;
  double after = 0;
  std::string unit;
  double change_percent = 0;            // of the level before
  std::vector<std::string> moved_with;  // what else changed then; empty: nothing that was sampled
};

/// A program that is not ours, and what it took on average.
struct OtherProgram {
  std::string name;
  int pid = 0;  // of one of its processes
  int processes = 1;
  double cpus = 0;
  double disk_bytes_per_second = 0;  // of all disks
};

/// What other programs took of the PC while it was watched, on average.
struct OthersUse {
  double seconds = 0;
  base::Reading<double> cpus;
  base::Reading<double> disk_bytes_per_second;     // of the recording disk
  base::Reading<double> disk_busy_percent;         // the time that it was busy for them
  base::Reading<double> network_bytes_per_second;  // of the busiest link
  std::vector<OtherProgram> programs;              // busiest first
};

/// Too much of one resource, taken by other programs.
struct TakenByOthers {
  Resource resource = Resource::kCpu;
  std::string text;  // how much, and by which programs
};

/// Whether other programs left the rehearsal what a verdict needs.
struct FairTest {
  std::optional<bool> fair;  // nothing: not known
  std::string not_known;     // why it is not known
  std::optional<OthersUse> before;
  std::optional<OthersUse> during;    // the judged part of the rehearsal
  std::vector<TakenByOthers> took;    // empty: the test was fair
  std::int64_t dropped_for_lack = 0;  // judged frames, lost while what was left was too little
  std::int64_t dropped_anyway = 0;    // judged frames, lost while it was enough
  bool short_anyway = false;          // without them too
  std::string arithmetic;             // why it is; may be empty
  std::string command;                // for a test that is fair
};

/// What the judged run proves about drops an hour.
struct DropProof {
  double judged_seconds = 0;
  std::int64_t lost_pictures = 0;
  double upper_95_per_hour = 0;
  double allowed_per_hour = 0;
  bool proven = false;
  std::optional<double> seconds_to_prove;  // without a drop; absent: no length proves it
};

/// Nothing was run: arithmetic and readings only.
inline constexpr char kSurvey[] = "survey";
/// Only the rehearsal was run, to see whether the PC carries the work: links,
/// displays and the disk's sustained rate are for a qualification to judge.
inline constexpr char kRehearsalOnly[] = "rehearsal only";

/// What was put together before the assessment; all that a verdict rests on.
struct Evidence {
  profiles::Profile profile;
  profiles::Demand demand;
  probes::Inventory inventory;
  bench::Results results;
  std::optional<probes::TelemetryRecord> telemetry;
  std::optional<probes::TelemetryRecord> ballast_telemetry;  // `at_s` as in the ballast's steps
  std::string started_at;                                    // ISO 8601, UTC
  std::string length;  // kSurvey, kRehearsalOnly, "quick", "standard", "full"
  std::string program_version;
  std::optional<probes::TelemetryRecord> before;  // the PC before the load, for a moment
  std::optional<std::string> command;             // that does the same once more
};

struct Document {
  Evidence evidence;
  Verdict verdict = Verdict::kUnproven;
  bool complete = false;
  std::string headline;              // the verdict in one sentence with its first limit
  std::string first_limit;           // that sentence without the verdict's word
  std::vector<std::string> reasons;  // why this verdict, most important first
  std::vector<Headroom> headroom;    // tightest first
  std::vector<BallastFigure> by_ballast;
  std::optional<Capacity> capacity;    // nothing: no cost was measured
  std::vector<Finding> findings;       // stop, warn, note
  std::vector<WiringNode> wiring;      // depth first
  std::vector<CaptureStream> streams;  // one for each capture device on USB
  std::optional<MovePlan> move_plan;   // nothing: no USB capture device, or links not judged
  std::vector<DropCause> causes;       // most frames first
  std::vector<SpeedStep> steps;        // in order of time
  std::optional<DropProof> proof;
  FairTest fair_test;
  std::vector<std::string> method;  // how each figure came about
  std::vector<std::string> cautions;
};

}  // namespace report

template <>
inline constexpr std::array<base::Word<report::NodeKind>, 8> base::kWords<report::NodeKind>{
    {{report::NodeKind::kController, "controller"},
     {report::NodeKind::kRootHub, "root hub"},
     {report::NodeKind::kHub, "hub"},
     {report::NodeKind::kCapture, "capture"},
     {report::NodeKind::kStorage, "storage"},
     {report::NodeKind::kNetwork, "network"},
     {report::NodeKind::kAudio, "audio"},
     {report::NodeKind::kOther, "other"}}};
