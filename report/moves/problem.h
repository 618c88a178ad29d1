// SPDX-License-Identifier: Apache-2.0
//
// A machine's capture devices and sockets as a problem for the search.

#pragma once

#include <string>
#include <vector>

#include "report/loads/facts.h"
#include "report/moves/ports.h"
#include "report/moves/search.h"

namespace report {

/// Sockets that are alike: the same links lead to each of them.
struct SocketGroup {
  std::vector<std::size_t>
      sockets;          // indexes: free ones first, then those that movable devices hold
  bool pinned = false;  // the place of one device that cannot be moved
};

/// A capture device in the search.
struct Candidate {
  const UsbStream* stream = nullptr;
  std::size_t socket = 0;  // that it is in
  bool movable = false;    // it has a plug
  double best_mbps = 0;    // that it would run at on the fastest port, with the cable it has
};

struct MachineProblem {
  std::vector<Socket> sockets;
  std::vector<Candidate> candidates;  // order of the inventory
  std::vector<SocketGroup> groups;    // in the order of preference
  MoveProblem problem;
  int free_sockets = 0;  // offered to movable devices
};

/// Borrows the facts.
MachineProblem PoseProblem(const Facts& facts);

/// Speed that a candidate runs at in a socket; 0 where it cannot be.
double SpeedIn(const Candidate& candidate, const Socket& socket);

}  // namespace report
