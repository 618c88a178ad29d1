// SPDX-License-Identifier: Apache-2.0
//
// Where metrics are served, and to whom.

#pragma once

#include <string>
#include <string_view>

#include "base/result.h"

namespace cli {

struct MetricsAddress {
  std::string host;  // a literal IP address, without brackets
  int port = 0;      // 0: any that is free
  bool loopback = true;
};

/// "127.0.0.1:9123", "[::1]:9123". Names are refused: an address says which link it is on.
base::Result<MetricsAddress> ParseMetricsAddress(std::string_view text);

/// "http://127.0.0.1:9123/metrics".
std::string MetricsUrl(const MetricsAddress& address);

/// Whether a request with this Host header is answered. A page on the web may give its own name to
/// our address (DNS rebinding) and would then read what we serve: only literal addresses and
/// "localhost" are taken, on loopback only those of loopback.
bool IsOurHost(std::string_view host, const MetricsAddress& address);

}  // namespace cli
