// SPDX-License-Identifier: Apache-2.0
//
// Segments sent again, what the links carry and what they lose.

#include <algorithm>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include "probes/procfs/kept_file.h"
#include "probes/procfs/telemetry_texts.h"
#include "probes/sampling/telemetry_gauges.h"

namespace probes {
namespace {

class NetworkGauge : public Gauge {
 public:
  NetworkGauge(const base::MachineRoot& root, const Missing& missing)
      : snmp_(root, "/proc/net/snmp"), links_(root, "/proc/net/dev"), missing_(missing) {}

  void Look(double seconds, TelemetrySample* sample) override {
    const auto snmp = snmp_.Read();
    const auto again = snmp ? ParseRetransmits(*snmp) : base::Result<std::int64_t>(snmp.error());
    const auto links = links_.Read();
    const auto losses = links ? ParseLinkLosses(*links) : base::Result<std::int64_t>(links.error());
    LookAtBytes(links, seconds, sample);
    if (sample == nullptr && !again) {
      missing_("TCP segments sent again", again.error().detail);
    }
    if (sample == nullptr && !losses) {
      missing_("losses of network links", losses.error().detail);
    }
    if (sample != nullptr && again && again_) {
      sample->retransmits_per_second = Added(*again, *again_) / seconds;
    }
    if (sample != nullptr && losses && losses_) {
      sample->network_drops_per_second = Added(*losses, *losses_) / seconds;
    }
    again_ = again ? std::optional(*again) : std::nullopt;
    losses_ = losses ? std::optional(*losses) : std::nullopt;
  }

 private:
  using LinkBytes = std::map<std::string, std::int64_t>;

  void LookAtBytes(const base::Result<std::string>& text, double seconds, TelemetrySample* sample) {
    auto bytes = text ? ParseLinkBytes(*text).value_or({}) : LinkBytes{};
    if (sample != nullptr) {
      for (const auto& [name, now] : bytes) {
        if (const auto before = bytes_.find(name); before != bytes_.end()) {
          sample->network_bytes_per_second = std::max(sample->network_bytes_per_second.value_or(0),
                                                      Added(now, before->second) / seconds);
        }
      }
    }
    bytes_ = std::move(bytes);
  }

  KeptFile snmp_;
  KeptFile links_;
  const Missing missing_;
  std::optional<std::int64_t> again_;
  std::optional<std::int64_t> losses_;
  LinkBytes bytes_;
};

}  // namespace

GaugePtr MakeNetworkGauge(const base::MachineRoot& root, const Missing& missing) {
  return std::make_unique<NetworkGauge>(root, missing);
}

}  // namespace probes
