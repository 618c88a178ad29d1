// SPDX-License-Identifier: Apache-2.0
//
// What waits in the sending TCP sockets of another program, asked for each socket by its address: a
// list of all sockets of the PC takes milliseconds, and one by name takes none.

#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

namespace probes {

/// Both ends of a TCP connection, bytes in network order (an IPv4 address is the first four).
struct TcpEnds {
  bool v6 = false;
  std::array<std::uint8_t, 16> local{};
  std::array<std::uint8_t, 16> remote{};
  std::uint16_t local_port = 0;
  std::uint16_t remote_port = 0;

  bool operator==(const TcpEnds&) const = default;
};

class SocketQueues {
 public:
  virtual ~SocketQueues() = default;
  /// Bytes that are not sent or not acknowledged yet, over those of the connections that are there;
  /// nothing where none is, or where the kernel cannot be asked.
  virtual std::optional<std::int64_t> Waiting(const std::vector<TcpEnds>& connections) = 0;
};

/// By sock_diag(7), in this process's network namespace; null where the kernel has none.
std::unique_ptr<SocketQueues> OpenSocketQueues();

/// Whether a process sees the same network as this one.
bool SharesOurNetwork(int pid);

}  // namespace probes
