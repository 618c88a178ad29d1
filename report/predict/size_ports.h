// SPDX-License-Identifier: Apache-2.0
//
// Free USB ports for cameras that are not there yet.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/loads/facts.h"

namespace report {

/// A camera put on a free port.
struct PlacedCamera {
  bool past_one_port = false;  // its controller would carry more than one port's worth, which it
                               // is not known to
  std::string source;
  double bytes_per_second = 0;
  std::string assumption;            // what that is assumed from; empty: it is a sum
  std::string port;                  // the system's name; empty: none carries it
  std::string link;                  // the fullest link on its way, with its name
  double link_bytes_per_second = 0;  // then
  double link_capacity = 0;          // of the same link
};

struct PortPlan {
  bool known = false;                 // some hub's ports could be read
  std::vector<PlacedCamera> cameras;  // heaviest first
};

/// Each camera, the heaviest first, goes where the fullest link on its way is emptiest then;
/// cameras are taken to send isochronously or in bulk, whichever a link carries less of.
PortPlan PlaceCameras(const Facts& facts, double margin_percent);

/// What a controller of 5 Gb/s carries for cameras that are not known yet.
double NewControllerBytesPerSecond();
/// Controllers that carry these cameras when each carries so much: heaviest first, each onto the
/// first that has room.
int ControllersFor(std::vector<double> cameras, double each);

}  // namespace report
