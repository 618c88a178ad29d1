// SPDX-License-Identifier: Apache-2.0
//
// Rehearsals that the page starts: a program of their own, one at a time.

#pragma once

#include <functional>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "base/result.h"
#include "base/system/attended_program.h"
#include "cli/system/progress.h"

namespace cli {

struct RehearsalOrder {
  std::vector<std::string> argv;  // of the program that rehearses, with --progress-json
  std::string profile;            // names, for people
  std::string result;
  std::string length;
};

enum class RehearsalStage { kNone, kRunning, kStopping, kEnded };

/// Where the last one stands.
struct RehearsalState {
  RehearsalStage stage = RehearsalStage::kNone;
  RehearsalOrder order;
  std::string began_at;                // ISO 8601, UTC
  std::vector<ProgressRecord> phases;  // the last one may still go on
  std::vector<std::string> messages;   // what else it said
  base::AttendedEnd end;               // of kEnded
  bool stopped = false;                // on request
};

class Rehearsals {
 public:
  Rehearsals() = default;
  /// Stops a running one and waits for its end.
  ~Rehearsals();
  Rehearsals(const Rehearsals&) = delete;
  Rehearsals& operator=(const Rehearsals&) = delete;

  /// kDenied while one runs.
  base::Status Start(RehearsalOrder order);
  /// In good order: what was measured is kept. False when none runs; true again while it ends.
  bool Stop();
  bool Running() const;
  RehearsalState State() const;

 private:
  void Hear(std::string_view line);
  /// The first ones stay, and always the last one: it says why the program failed.
  void Say(std::string_view message);
  void Attend(const std::stop_token& stop, const std::vector<std::string>& argv);

  mutable std::mutex mutex_;
  RehearsalState state_;
  std::jthread attendant_;
};

}  // namespace cli
