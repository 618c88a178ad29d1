// SPDX-License-Identifier: Apache-2.0

#include "cli/options/metrics_address.h"

#include <cstddef>
#include <cstdint>
#include <optional>

#include <fmt/format.h>

#include "base/ip_address.h"
#include "base/text.h"

namespace cli {
namespace {

constexpr std::int64_t kHighestPort = 65535;

struct HostAndPort {
  std::string_view host;  // without brackets
  std::string_view port;  // empty: none
};

/// "host:port", "[v6]:port", or either without a port.
HostAndPort Parts(std::string_view text) {
  if (text.starts_with('[')) {
    const std::size_t end = text.find(']');
    if (end == std::string_view::npos) {
      return {text, ""};
    }
    const std::string_view rest = text.substr(end + 1);
    return {text.substr(1, end - 1), rest.starts_with(':') ? rest.substr(1) : std::string_view()};
  }
  const std::size_t colon = text.rfind(':');
  return colon == std::string_view::npos
             ? HostAndPort{text, ""}
             : HostAndPort{text.substr(0, colon), text.substr(colon + 1)};
}

}  // namespace

base::Result<MetricsAddress> ParseMetricsAddress(std::string_view text) {
  const HostAndPort parts = Parts(text);
  const auto address = base::ParseIpAddress(parts.host);
  const auto port = base::ParseInt(parts.port);
  if (!address || !port || *port < 0 || *port > kHighestPort) {
    return base::Error{base::ErrorKind::kInvalid, "",
                       "found \"" + base::Printable(text, 60) +
                           "\", allowed: an IP address and a port, as 127.0.0.1:9123"};
  }
  return MetricsAddress{std::string(parts.host), static_cast<int>(*port),
                        base::IsLoopback(*address)};
}

std::string MetricsUrl(const MetricsAddress& address) {
  const bool v6 = address.host.find(':') != std::string::npos;
  return fmt::format("http://{}{}{}:{}/metrics", v6 ? "[" : "", address.host, v6 ? "]" : "",
                     address.port);
}

bool IsOurHost(std::string_view host, const MetricsAddress& address) {
  const HostAndPort parts = Parts(host);
  if (parts.host == "localhost") {
    return true;
  }
  const auto literal = base::ParseIpAddress(parts.host);
  return literal && (!address.loopback || base::IsLoopback(*literal));
}

}  // namespace cli
