// SPDX-License-Identifier: Apache-2.0
//
// How a run ends before its time: by the user, or because a part failed.

#pragma once

#include <atomic>
#include <exception>
#include <functional>
#include <mutex>
#include <string>
#include <utility>
#include <vector>

namespace bench {

/// Which kind of part ended a run. Parts of two kinds may have one name.
enum class StopPart {
  kRun,   // the user, or what no part of it is to blame for
  kPlan,  // its time was over
  kSource,
  kEncode,
  kOutput,
  kCanvas,
  kSound,
};

struct StopReason {
  StopPart part = StopPart::kRun;
  std::string name;  // of the part; empty for the run itself
  std::string text;

  bool Of(StopPart of, const std::string& whose) const { return part == of && name == whose; }
  /// "Left: the device is gone".
  std::string Sentence() const { return name.empty() ? text : name + ": " + text; }
};

/// Shared by all threads of a run. Thread-safe.
class RunControl {
 public:
  /// `close` makes waiting threads return; called once, at the stop.
  void OnStop(std::function<void()> close);
  /// The first reason is kept.
  void Stop(StopReason reason);
  void Stop(std::string text) { Stop(StopReason{StopPart::kRun, "", std::move(text)}); }

  bool stopped() const { return stopped_; }
  StopReason stop_reason() const;
  /// The same as a sentence; empty before a stop.
  std::string reason() const { return stop_reason().Sentence(); }

 private:
  std::atomic<bool> stopped_{false};
  mutable std::mutex mutex_;
  StopReason reason_;
  std::vector<std::function<void()>> closers_;
};

/// What to say of an exception that ends a run: what() alone is no sentence.
std::string ShortageText(const std::exception& failure);

}  // namespace bench
