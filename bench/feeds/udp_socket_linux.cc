// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/udp_socket.h"

#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <utility>

#include <arpa/inet.h>
#include <netinet/in.h>

namespace bench {
namespace {

constexpr timeval kLongestWait{0, 50'000};

base::Error Failed(int code) {
  return {base::ErrorKind::kIo, "127.0.0.1", std::strerror(code)};
}

sockaddr_in Loopback(int port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  return address;
}

}  // namespace

base::Result<UdpSocket> UdpSocket::Open() {
  const int socket_fd = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (socket_fd < 0) {
    return Failed(errno);
  }
  UdpSocket opened(socket_fd, 0);
  sockaddr_in address = Loopback(0);
  socklen_t size = sizeof(address);
  auto* const generic = reinterpret_cast<sockaddr*>(&address);
  if (bind(socket_fd, generic, size) != 0 || getsockname(socket_fd, generic, &size) != 0 ||
      setsockopt(socket_fd, SOL_SOCKET, SO_RCVTIMEO, &kLongestWait, sizeof(kLongestWait)) != 0) {
    return Failed(errno);
  }
  opened.port_ = ntohs(address.sin_port);
  return opened;
}

UdpSocket::UdpSocket(UdpSocket&& other) noexcept
    : socket_fd_(std::exchange(other.socket_fd_, -1)), port_(other.port_) {}

UdpSocket::~UdpSocket() {
  if (socket_fd_ >= 0) {
    close(socket_fd_);
  }
}

base::Status UdpSocket::ConnectTo(int port) {
  const sockaddr_in address = Loopback(port);
  if (connect(socket_fd_, reinterpret_cast<const sockaddr*>(&address), sizeof(address)) != 0) {
    return Failed(errno);
  }
  return base::Done{};
}

base::Result<std::int64_t> UdpSocket::SetReceiveBuffer(std::int64_t bytes) {
  int value = static_cast<int>(std::min<std::int64_t>(bytes, 1 << 30));
  socklen_t size = sizeof(value);
  if (setsockopt(socket_fd_, SOL_SOCKET, SO_RCVBUF, &value, size) != 0 ||
      getsockopt(socket_fd_, SOL_SOCKET, SO_RCVBUF, &value, &size) != 0) {
    return Failed(errno);
  }
  return value / 2;  // the kernel doubles what it grants, for its own bookkeeping: socket(7)
}

base::Status UdpSocket::Send(std::span<const Datagram> datagrams) {
  constexpr std::size_t kAtOnce = 64;
  while (!datagrams.empty()) {
    std::array<mmsghdr, kAtOnce> messages{};
    std::array<iovec, kAtOnce> pieces{};
    const std::size_t count = std::min(kAtOnce, datagrams.size());
    for (std::size_t i = 0; i < count; ++i) {
      // The call only reads them.
      pieces[i] = {const_cast<std::uint8_t*>(datagrams[i].data()), datagrams[i].size()};
      messages[i].msg_hdr.msg_iov = &pieces[i];
      messages[i].msg_hdr.msg_iovlen = 1;
    }
    const int sent = sendmmsg(socket_fd_, messages.data(), static_cast<unsigned>(count), 0);
    // A receiver that is gone already shows as a refusal of the datagram before: not our affair.
    if (sent < 0 && errno != EINTR && errno != ECONNREFUSED) {
      return Failed(errno);
    }
    datagrams = datagrams.subspan(static_cast<std::size_t>(std::max(sent, 0)));
  }
  return base::Done{};
}

base::Result<std::size_t> UdpSocket::Receive(std::span<std::uint8_t> into) {
  const ssize_t got = recv(socket_fd_, into.data(), into.size(), 0);
  if (got >= 0) {
    return static_cast<std::size_t>(got);
  }
  if (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR || errno == ECONNREFUSED) {
    return std::size_t{0};
  }
  return Failed(errno);
}

}  // namespace bench
