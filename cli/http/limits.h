// SPDX-License-Identifier: Apache-2.0
//
// What anybody who connects may cost.

#pragma once

#include <chrono>
#include <cstddef>

namespace cli {

struct HttpLimits {
  std::size_t head_bytes = std::size_t{16} << 10U;
  std::size_t fields = 100;
  std::size_t body_bytes = 1024;
  std::size_t connections = 48;  // at one time
  int requests = 1;              // of a connection
  int threads = 2;               // that make answers
  /// From the connection, or the answer before, to the end of the whole request.
  std::chrono::milliseconds request{5000};
  /// For a whole response, however slowly it is read.
  std::chrono::milliseconds response{30000};
  /// After the last response, for what is still under way to us.
  std::chrono::milliseconds farewell{1000};
};

}  // namespace cli
