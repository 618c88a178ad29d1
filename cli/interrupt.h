// SPDX-License-Identifier: Apache-2.0
//
// Ctrl-C as a stop request: the first ends the run tidily, the second ends the program.

#pragma once

#include <stop_token>
#include <thread>

namespace cli {

/// While it lives, SIGINT, SIGTERM and SIGHUP request a stop instead of
/// ending the program; a second one ends it at once with status 130, unless it is a SIGHUP, which
/// comes more than once when a terminal closes. One at a time.
class Interrupt {
 public:
  Interrupt();
  ~Interrupt();
  Interrupt(const Interrupt&) = delete;
  Interrupt& operator=(const Interrupt&) = delete;

  std::stop_token Token() const { return stop_.get_token(); }
  bool Requested() const { return stop_.stop_requested(); }

 private:
  std::stop_source stop_;
  std::thread watcher_;
};

}  // namespace cli
