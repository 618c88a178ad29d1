// SPDX-License-Identifier: Apache-2.0

#include "cli/options/option_setters.h"

#include <cstdint>
#include <optional>
#include <string_view>
#include <utility>

#include "profiles/demand/stream_url.h"

namespace cli {

base::Error NotAllowed(const std::string& found, const std::string& allowed) {
  return {base::ErrorKind::kInvalid, "",
          "found \"" + base::Printable(profiles::WithMaskedUrls(found), 60) +
              "\", allowed: " + allowed};
}

base::Status SetLength(Options& options, const std::string& value) {
  for (Length length : {Length::kQuick, Length::kStandard, Length::kFull}) {
    if (value == ToText(length)) {
      options.length = length;
      return base::Done{};
    }
  }
  return NotAllowed(value, "quick, standard, full");
}

base::Status SetHz(Options& options, const std::string& value) {
  constexpr double kMost = 20;
  auto hz = base::ParseDouble(value);
  if (!hz || !(*hz >= 1 && *hz <= kMost)) {
    return NotAllowed(value, "a number of samples a second from 1 to 20");
  }
  options.hz = *hz;
  return base::Done{};
}

base::Status SetMostSize(Options& options, const std::string& value) {
  constexpr std::int64_t kMega = 1'000'000;
  constexpr std::int64_t kLeast = 8;
  constexpr std::int64_t kMost = 1'000'000;
  const bool giga = value.ends_with("GB");
  const auto number = giga || value.ends_with("MB")
                          ? base::ParseInt(std::string_view(value).substr(0, value.size() - 2))
                          : std::nullopt;
  if (!number || *number < 1 || *number > kMost) {
    return NotAllowed(value, "a size from 8MB to 1000GB, as 500MB or 2GB");
  }
  const std::int64_t megabytes = *number * (giga ? 1000 : 1);
  if (megabytes < kLeast || megabytes > kMost) {
    return NotAllowed(value, "a size from 8MB to 1000GB, as 500MB or 2GB");
  }
  options.most_bytes = megabytes * kMega;
  return base::Done{};
}

base::Status SetPort(Options& options, const std::string& value) {
  constexpr std::int64_t kHighest = 65535;
  const auto port = base::ParseInt(value);
  if (!port || *port < 1 || *port > kHighest) {
    return NotAllowed(value, "a port from 1 to 65535");
  }
  options.port = static_cast<int>(*port);
  return base::Done{};
}

base::Status SetMetrics(Options& options, const std::string& value) {
  auto address = ParseMetricsAddress(value);
  if (!address) {
    return address.error();
  }
  options.metrics = *std::move(address);
  return base::Done{};
}

}  // namespace cli
