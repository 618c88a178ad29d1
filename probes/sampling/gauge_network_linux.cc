// SPDX-License-Identifier: Apache-2.0
//
// What the links carry and what they lose, segments sent again, datagrams that were not taken.

#include <algorithm>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/text.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/system_texts.h"
#include "probes/sampling/gauges.h"

namespace probes {
namespace {

constexpr std::size_t kMostLinks = 16;
constexpr std::size_t kLongestName = 40;

class NetworkGauge : public Gauge {
 public:
  NetworkGauge(const base::MachineRoot& root, WatchDevices& devices, const Missing& missing)
      : root_(root),
        devices_(devices),
        links_text_(root, "/proc/net/dev"),
        snmp_(root, "/proc/net/snmp"),
        missing_(missing) {}

  void Follow(int pid) override {
    KeptFile there(root_, "/proc/" + std::to_string(pid) + "/net/snmp");
    snmp_ = pid != 0 && there.Read() ? std::move(there) : KeptFile(root_, "/proc/net/snmp");
    protocols_ = {};
  }

  void Look(double seconds, WatchSample* sample) override {
    LookAtProtocols(seconds, sample);
    const auto text = links_text_.Read();
    if (!text) {
      if (sample == nullptr) {
        missing_("losses of network links", text.error().detail);
      }
      return;
    }
    ParseLinks(*text, counters_);
    Sums sums;
    for (const LinkCounters& now : counters_) {
      LookAtLink(now, seconds, sample, sums);
    }
    if (sample != nullptr) {
      sample->pc.network_drops_per_second = sums.lost / seconds;
      if (!counters_.empty()) {
        sample->pc.network_bytes_per_second = sums.most_bytes / seconds;
      }
    }
  }

 private:
  struct Link {
    LinkCounters first;
    LinkCounters last;
    std::optional<std::size_t> number;
  };
  struct Sums {
    double lost = 0;
    double most_bytes = 0;  // of one link, both ways
  };

  void LookAtLink(const LinkCounters& now, double seconds, WatchSample* sample, Sums& sums) {
    const auto [found, fresh] = links_.try_emplace(base::Printable(now.name, kLongestName));
    Link& link = found->second;
    if (fresh) {
      link.first = now;
      link.last = now;
      link.first.name = {};  // the text goes
    }
    const bool used =
        now.received_bytes != link.first.received_bytes || now.sent_bytes != link.first.sent_bytes;
    if (used && !link.number && devices_.links.size() < kMostLinks) {
      link.number = devices_.links.size();
      devices_.links.push_back(found->first);
    }
    const double received = Added(now.received_bytes, link.last.received_bytes);
    const double sent = Added(now.sent_bytes, link.last.sent_bytes);
    const double errors = Added(now.errors, link.last.errors);
    const double drops = Added(now.drops, link.last.drops);
    sums.lost += errors + drops;
    sums.most_bytes = std::max(sums.most_bytes, received + sent);
    if (sample != nullptr && link.number) {
      sample->links.push_back(
          {*link.number, received / seconds, sent / seconds, errors / seconds, drops / seconds});
    }
    link.last = now;
    link.last.name = {};
  }

  void LookAtProtocols(double seconds, WatchSample* sample) {
    const auto text = snmp_.Read();
    const ProtocolCounters now = text ? ParseProtocols(*text) : ProtocolCounters{};
    if (sample == nullptr && !now.tcp_sent_again) {
      missing_("TCP segments sent again",
               text ? "no count of TCP segments sent again" : text.error().detail);
    }
    if (sample != nullptr && now.tcp_sent_again && protocols_.tcp_sent_again) {
      sample->pc.retransmits_per_second =
          Added(*now.tcp_sent_again, *protocols_.tcp_sent_again) / seconds;
    }
    if (sample != nullptr && now.udp_not_taken && protocols_.udp_not_taken) {
      sample->datagrams_dropped_per_second =
          Added(*now.udp_not_taken, *protocols_.udp_not_taken) / seconds;
    }
    protocols_ = now;
  }

  const base::MachineRoot& root_;
  WatchDevices& devices_;
  KeptFile links_text_;
  KeptFile snmp_;
  Missing missing_;
  std::vector<LinkCounters> counters_;  // kept for its memory
  std::map<std::string, Link, std::less<>> links_;
  ProtocolCounters protocols_;
};

}  // namespace

GaugePtr MakeNetworkGauge(const base::MachineRoot& root, WatchDevices& devices,
                          const Missing& missing) {
  return std::make_unique<NetworkGauge>(root, devices, missing);
}

}  // namespace probes
