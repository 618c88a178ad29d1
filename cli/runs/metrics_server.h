// SPDX-License-Identifier: Apache-2.0
//
// Serves where a watch stands, for programs that monitor PCs.

#pragma once

#include <functional>
#include <memory>
#include <string>

#include "base/result.h"
#include "cli/options/metrics_address.h"
#include "probes/sampling/watch_metrics.h"

namespace cli {

class HttpServer;

/// Answers until its end, from threads of its own.
class MetricsServer {
 public:
  using Write = std::function<std::string(probes::MetricsForm form)>;

  /// kInvalid when the address cannot be listened on. `write` is called from any thread.
  static base::Result<std::unique_ptr<MetricsServer>> Start(const MetricsAddress& address,
                                                            Write write);
  ~MetricsServer();
  MetricsServer(const MetricsServer&) = delete;
  MetricsServer& operator=(const MetricsServer&) = delete;

  /// With the port that was found where 0 was asked for.
  const MetricsAddress& address() const { return address_; }

 private:
  MetricsServer(MetricsAddress address, std::unique_ptr<HttpServer> server);

  MetricsAddress address_;
  std::unique_ptr<HttpServer> server_;
};

}  // namespace cli
