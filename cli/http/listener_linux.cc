// SPDX-License-Identifier: Apache-2.0
//
// socket(7). Not SO_REUSEPORT: two servers on one port would answer in turn.

#include "cli/http/listener.h"

#include <fcntl.h>
#include <sys/socket.h>

#include <cerrno>
#include <cstdint>
#include <cstring>

#include <arpa/inet.h>
#include <netinet/in.h>

namespace cli {
namespace {

/// An address of either family.
struct Address {
  sockaddr_storage storage{};
  socklen_t bytes = 0;

  sockaddr* get() { return reinterpret_cast<sockaddr*>(&storage); }
};

bool ReadAddress(const std::string& host, int port, Address& address) {
  sockaddr_in v4{};
  if (inet_pton(AF_INET, host.c_str(), &v4.sin_addr) == 1) {
    v4.sin_family = AF_INET;
    v4.sin_port = htons(static_cast<std::uint16_t>(port));
    std::memcpy(&address.storage, &v4, sizeof v4);
    address.bytes = sizeof v4;
    return true;
  }
  sockaddr_in6 v6{};
  if (inet_pton(AF_INET6, host.c_str(), &v6.sin6_addr) == 1) {
    v6.sin6_family = AF_INET6;
    v6.sin6_port = htons(static_cast<std::uint16_t>(port));
    std::memcpy(&address.storage, &v6, sizeof v6);
    address.bytes = sizeof v6;
    return true;
  }
  return false;
}

int PortOf(const Address& address) {
  if (address.storage.ss_family == AF_INET6) {
    sockaddr_in6 v6{};
    std::memcpy(&v6, &address.storage, sizeof v6);
    return ntohs(v6.sin6_port);
  }
  sockaddr_in v4{};
  std::memcpy(&v4, &address.storage, sizeof v4);
  return ntohs(v4.sin_port);
}

}  // namespace

base::Result<Listener> Listen(const std::string& host, int port) {
  const auto failed = [&] {
    return base::Error{base::ErrorKind::kInvalid, host + " port " + std::to_string(port),
                       std::string("cannot be listened on: ") + std::strerror(errno)};
  };
  Address address;
  if (!ReadAddress(host, port, address)) {
    errno = EINVAL;
    return failed();
  }
  Listener listener;
  listener.v6 = address.storage.ss_family == AF_INET6;
  listener.socket = base::Descriptor(
      socket(address.storage.ss_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0));
  const int yes = 1;  // a port whose last connections are only fading away is free
  if (!listener.socket.open() ||
      setsockopt(listener.socket.get(), SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) != 0 ||
      bind(listener.socket.get(), address.get(), address.bytes) != 0 ||
      listen(listener.socket.get(), SOMAXCONN) != 0 ||
      getsockname(listener.socket.get(), address.get(), &address.bytes) != 0) {
    return failed();
  }
  listener.port = PortOf(address);
  return listener;
}

Accepted AcceptFrom(int listening_socket) {
  Accepted accepted;
  accepted.socket = accept4(listening_socket, nullptr, nullptr, SOCK_CLOEXEC | SOCK_NONBLOCK);
  accepted.exhausted = accepted.socket < 0 && (errno == EMFILE || errno == ENFILE ||
                                               errno == ENOBUFS || errno == ENOMEM);  // accept(2)
  return accepted;
}

int Another(const base::Descriptor& socket) {
  return fcntl(socket.get(), F_DUPFD_CLOEXEC, 0);
}

}  // namespace cli
