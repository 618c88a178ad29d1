// SPDX-License-Identifier: Apache-2.0
//
// Our own TCP sockets: data that was not sent yet, and time spent waiting for a receiver.

#include <linux/sockios.h>
#include <linux/tcp.h>
#include <sys/ioctl.h>
#include <sys/socket.h>

#include <algorithm>
#include <map>
#include <optional>

#include <netinet/in.h>

#include "base/system/machine_root.h"
#include "probes/procfs/kept_file.h"
#include "probes/sampling/gauges.h"

namespace probes {
namespace {

constexpr int kFindEveryLooks = 3;  // of those around

bool IsTcp(int fd) {
  int protocol = 0;
  socklen_t size = sizeof protocol;
  return getsockopt(fd, SOL_SOCKET, SO_PROTOCOL, &protocol, &size) == 0 && protocol == IPPROTO_TCP;
}

/// Time for which a connection wanted to send and its receiver's window was shut.
std::optional<std::int64_t> ReceiverLimitedUs(int fd) {
  tcp_info info{};
  socklen_t size = sizeof info;
  if (getsockopt(fd, IPPROTO_TCP, TCP_INFO, &info, &size) != 0 ||
      size < offsetof(tcp_info, tcpi_rwnd_limited) + sizeof info.tcpi_rwnd_limited) {
    return std::nullopt;
  }
  return static_cast<std::int64_t>(info.tcpi_rwnd_limited);
}

class OwnSocketGauge : public Gauge {
 public:
  OwnSocketGauge() { FindSockets(); }

  void Look(double seconds, WatchSample* sample) override {
    double unsent = 0;
    double longest_us = 0;
    bool any = false;
    for (auto& [fd, limited_us] : sockets_) {
      int bytes = 0;
      if (!IsTcp(fd) || ioctl(fd, SIOCOUTQ, &bytes) != 0) {
        continue;  // closed since it was found
      }
      any = true;
      unsent += bytes;
      const auto now_us = ReceiverLimitedUs(fd);
      if (now_us && limited_us) {
        longest_us = std::max(longest_us, Added(*now_us, *limited_us));
      }
      limited_us = now_us;
    }
    if (sample != nullptr && any) {
      sample->pc.unsent_bytes = unsent;
      sample->pc.receiver_limited_percent = std::min(100.0, longest_us / 1e6 / seconds * 100);
    }
  }

  void LookAround() override {
    if (++looks_around_ % kFindEveryLooks == 0) {
      FindSockets();
    }
  }

 private:
  void FindSockets() {
    std::map<int, std::optional<std::int64_t>> found;
    for (const int fd : NumbersIn(base::MachineRoot::Live(), "/proc/self/fd")) {
      if (!IsTcp(fd)) {
        continue;
      }
      const auto known = sockets_.find(fd);
      found.emplace(fd, known == sockets_.end() ? std::nullopt : known->second);
    }
    sockets_ = std::move(found);
  }

  std::map<int, std::optional<std::int64_t>> sockets_;  // with the time seen last
  int looks_around_ = 0;
};

}  // namespace

GaugePtr MakeOwnSocketGauge() {
  return std::make_unique<OwnSocketGauge>();
}

}  // namespace probes
