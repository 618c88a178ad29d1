// SPDX-License-Identifier: Apache-2.0
//
// What waits in a real connection over the loopback, asked of the kernel.

#include "probes/procfs/socket_queues.h"

#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cstring>

#include <arpa/inet.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <netinet/in.h>

#include "base/system/descriptor.h"

namespace probes {
namespace {

struct Connection {
  base::Descriptor sender;
  base::Descriptor receiver;
  TcpEnds ends;
};

sockaddr_in NameOf(int fd, bool peer) {
  sockaddr_in name{};
  socklen_t size = sizeof name;
  auto* const any = reinterpret_cast<sockaddr*>(&name);
  EXPECT_EQ(peer ? getpeername(fd, any, &size) : getsockname(fd, any, &size), 0);
  return name;
}

Connection Connect() {
  const base::Descriptor listener(socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0));
  sockaddr_in name{};
  name.sin_family = AF_INET;
  name.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  EXPECT_EQ(bind(listener.get(), reinterpret_cast<sockaddr*>(&name), sizeof name), 0);
  EXPECT_EQ(listen(listener.get(), 1), 0);
  name = NameOf(listener.get(), false);
  Connection made;
  made.sender = base::Descriptor(socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0));
  EXPECT_EQ(connect(made.sender.get(), reinterpret_cast<sockaddr*>(&name), sizeof name), 0);
  made.receiver = base::Descriptor(accept(listener.get(), nullptr, nullptr));
  const sockaddr_in local = NameOf(made.sender.get(), false);
  const sockaddr_in remote = NameOf(made.sender.get(), true);
  std::memcpy(made.ends.local.data(), &local.sin_addr, sizeof local.sin_addr);
  std::memcpy(made.ends.remote.data(), &remote.sin_addr, sizeof remote.sin_addr);
  made.ends.local_port = ntohs(local.sin_port);
  made.ends.remote_port = ntohs(remote.sin_port);
  return made;
}

TEST(SocketQueues, TellWhatAReceiverThatStallsLeavesBehind) {
  const auto queues = OpenSocketQueues();
  if (!queues) {
    GTEST_SKIP() << "no sock_diag in this kernel";
  }
  Connection connection = Connect();
  const auto idle = queues->Waiting({connection.ends});
  if (!idle) {
    GTEST_SKIP() << "sock_diag does not answer here";
  }
  EXPECT_EQ(*idle, 0);
  const std::array<char, 65536> bytes{};
  while (send(connection.sender.get(), bytes.data(), bytes.size(), MSG_DONTWAIT) > 0) {
  }
  EXPECT_GT(queues->Waiting({connection.ends}).value_or(0), 0);
  const TcpEnds gone{false, connection.ends.local, connection.ends.remote, 1, 1};
  EXPECT_GT(queues->Waiting({gone, connection.ends}).value_or(0), 0);
  EXPECT_FALSE(queues->Waiting({gone}));
  EXPECT_FALSE(queues->Waiting({}));
}

TEST(SocketQueues, OurOwnNetworkIsOurs) {
  EXPECT_TRUE(SharesOurNetwork(getpid()));
  EXPECT_FALSE(SharesOurNetwork(-1));
}

}  // namespace
}  // namespace probes
