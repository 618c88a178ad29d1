// SPDX-License-Identifier: Apache-2.0
//
// The one value that every writer gets: verdict, headroom, findings and the evidence behind them.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "bench/data/results.h"
#include "probes/data/inventory.h"
#include "probes/data/telemetry.h"
#include "profiles/demand.h"
#include "profiles/profile.h"

namespace report {

enum class Verdict { kReady, kTight, kShort, kUnproven };
enum class Severity { kStop, kWarn, kNote };
/// How a capacity is known.
enum class Basis { kMeasured, kComputed, kRead, kAssumed };

/// One resource against its margin. When `capacity` is absent the resource is
/// unproven and `how_to_prove` says what would prove it.
struct Headroom {
  std::string
      resource;  // "cpu", "encoder", "disk", "space", "memory", "usb", "network", "displays" ...
  std::string item;  // which link, folder, output; empty when there is one
  double demand = 0;
  std::optional<double> capacity;
  std::string unit;
  std::optional<double> headroom_percent;
  double margin_percent = 0;
  Basis basis = Basis::kComputed;
  std::string source;  // where demand and capacity come from, one line
  std::string how_to_prove;
};

struct Finding {
  std::string id;  // "usb-shared-hub"; stable
  Severity severity = Severity::kNote;
  std::string title;
  std::vector<std::string> evidence;
  std::string action;
};

/// One link of the wiring: the upstream side of a hub or device, and its load.
struct WiringNode {
  std::string path;   // "2-1.4", or a controller's address
  std::string label;  // text as the device gives it; writers escape it
  std::string
      kind;  // "controller", "root hub", "hub", "capture", "storage", "network", "audio", "other"
  int depth = 0;  // 0 = controller
  double speed_mbps = 0;
  std::optional<double> demand_bytes_per_second;    // of the captures at and below it
  std::optional<double> capacity_bytes_per_second;  // usable for them
  std::vector<std::string> finding_ids;
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
  std::string started_at;  // ISO 8601, UTC
  std::string length;      // kSurvey, kRehearsalOnly, "quick", "standard", "full"
  std::string program_version;
};

struct Document {
  Evidence evidence;
  Verdict verdict = Verdict::kUnproven;
  bool complete = false;
  std::string headline;              // the verdict in one sentence with its first limit
  std::vector<std::string> reasons;  // why this verdict, most important first
  std::vector<Headroom> headroom;    // tightest first
  std::vector<Finding> findings;     // stop, warn, note
  std::vector<WiringNode> wiring;    // depth first
  std::vector<std::string> method;   // how each figure came about
  std::vector<std::string> cautions;
};

}  // namespace report
