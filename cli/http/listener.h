// SPDX-License-Identifier: Apache-2.0
//
// A port that is listened on.

#pragma once

#include <string>

#include "base/result.h"
#include "base/system/descriptor.h"

namespace cli {

/// Connections wait in it until they are accepted.
struct Listener {
  base::Descriptor socket;
  int port = 0;
  bool v6 = false;
};

/// `host` is a literal address; `port` 0 takes any that is free. No other program may listen on
/// the port at the same time, and none that is started here inherits it.
base::Result<Listener> Listen(const std::string& host, int port);

/// The next connection, which whoever takes it closes.
struct Accepted {
  int socket = -1;         // negative: there is none
  bool exhausted = false;  // no descriptor or no memory is left for it
};

/// Never waits, and what is accepted is not inherited either.
Accepted AcceptFrom(int listening_socket);

/// A second descriptor of the same socket; negative where there is none left.
int Another(const base::Descriptor& socket);

}  // namespace cli
