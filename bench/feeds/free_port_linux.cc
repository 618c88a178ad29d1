// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/free_port.h"

#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include <arpa/inet.h>
#include <netinet/in.h>

namespace bench {

base::Result<int> FreeLoopbackPort(PortKind kind) {
  const int type = kind == PortKind::kTcp ? SOCK_STREAM : SOCK_DGRAM;
  const int socket_fd = socket(AF_INET, type | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof(address);
  auto* const generic = reinterpret_cast<sockaddr*>(&address);
  const bool bound = socket_fd >= 0 && bind(socket_fd, generic, size) == 0 &&
                     getsockname(socket_fd, generic, &size) == 0;
  const int reason = errno;
  if (socket_fd >= 0) {
    close(socket_fd);
  }
  if (!bound) {
    return base::Error{base::ErrorKind::kIo, "127.0.0.1", std::strerror(reason)};
  }
  return static_cast<int>(ntohs(address.sin_port));
}

}  // namespace bench
