// SPDX-License-Identifier: Apache-2.0
//
// One end of a pair of UDP sockets on the loopback interface.

#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "base/result.h"

namespace bench {

using Datagram = std::vector<std::uint8_t>;

/// Most that fits one Ethernet frame: MTU 1500 less IPv4 20 (RFC 791) and UDP 8 (RFC 768).
inline constexpr int kDatagramBytes = 1472;

class UdpSocket {
 public:
  /// On a free port of 127.0.0.1.
  static base::Result<UdpSocket> Open();
  ~UdpSocket();
  UdpSocket(UdpSocket&& other) noexcept;
  UdpSocket& operator=(UdpSocket&&) = delete;
  UdpSocket(const UdpSocket&) = delete;
  UdpSocket& operator=(const UdpSocket&) = delete;

  int port() const { return port_; }
  /// From now on sends to that port of 127.0.0.1, and hears only what comes from it.
  base::Status ConnectTo(int port);
  /// Asks the kernel for room; gives what it granted (it caps at net.core.rmem_max).
  base::Result<std::int64_t> SetReceiveBuffer(std::int64_t bytes);

  /// All of them, in order. What finds the receiver's buffer full is lost without a word.
  base::Status Send(std::span<const Datagram> datagrams);
  /// Bytes of the next datagram, cut to the size of `into`; 0 after a wait of a
  /// twentieth of a second in which none came.
  base::Result<std::size_t> Receive(std::span<std::uint8_t> into);

 private:
  UdpSocket(int socket_fd, int port) : socket_fd_(socket_fd), port_(port) {}

  int socket_fd_;
  int port_;
};

}  // namespace bench
