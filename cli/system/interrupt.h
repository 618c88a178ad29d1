// SPDX-License-Identifier: Apache-2.0
//
// Ctrl-C as a stop request: the first ends the run tidily, one that comes later ends the program.

#pragma once

#include <stop_token>
#include <thread>

namespace cli {

/// While it lives, SIGINT, SIGTERM, SIGHUP and SIGXCPU request a stop instead of ending the
/// program. Another SIGINT, half a second after the first signal or later, ends it at once with
/// status 130; nothing else does: a closing terminal, `timeout` and the threads of a program that
/// dies send several, and what was measured is to be kept. SIGHUP stays ignored where it was, as
/// nohup has it. One at a time.
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
