// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/socket_queues.h"

#include <linux/inet_diag.h>
#include <linux/netlink.h>
#include <linux/sock_diag.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cstring>
#include <string>
#include <utility>

#include <netinet/in.h>

#include "base/system/descriptor.h"

namespace probes {
namespace {

class KernelQueues : public SocketQueues {
 public:
  explicit KernelQueues(base::Descriptor socket) : socket_(std::move(socket)) {}

  std::optional<std::int64_t> Waiting(const std::vector<TcpEnds>& connections) override {
    std::optional<std::int64_t> waiting;
    for (const TcpEnds& connection : connections) {
      if (const auto bytes = Ask(connection)) {
        waiting = waiting.value_or(0) + *bytes;
      }
    }
    return waiting;
  }

 private:
  struct Question {
    nlmsghdr head;
    inet_diag_req_v2 about;
  };

  std::optional<std::int64_t> Ask(const TcpEnds& connection) {
    Question question{};
    question.head.nlmsg_len = sizeof question;
    question.head.nlmsg_type = SOCK_DIAG_BY_FAMILY;
    question.head.nlmsg_flags = NLM_F_REQUEST;
    question.head.nlmsg_seq = ++number_;
    question.about.sdiag_family = connection.v6 ? AF_INET6 : AF_INET;
    question.about.sdiag_protocol = IPPROTO_TCP;
    question.about.idiag_states = ~0U;
    inet_diag_sockid& id = question.about.id;
    id.idiag_sport = htons(connection.local_port);
    id.idiag_dport = htons(connection.remote_port);
    std::memcpy(id.idiag_src, connection.local.data(), connection.local.size());
    std::memcpy(id.idiag_dst, connection.remote.data(), connection.remote.size());
    std::fill(std::begin(id.idiag_cookie), std::end(id.idiag_cookie), INET_DIAG_NOCOOKIE);
    if (send(socket_.get(), &question, sizeof question, 0) != ssize_t{sizeof question}) {
      return std::nullopt;
    }
    return Answer();
  }

  /// The kernel answers before send() returns, with one message to each question.
  std::optional<std::int64_t> Answer() {
    alignas(nlmsghdr) std::array<char, 4096> bytes{};
    for (;;) {
      const ssize_t got = recv(socket_.get(), bytes.data(), bytes.size(), MSG_DONTWAIT);
      if (got < ssize_t{sizeof(nlmsghdr)}) {
        return std::nullopt;
      }
      nlmsghdr head{};
      std::memcpy(&head, bytes.data(), sizeof head);
      if (head.nlmsg_seq != number_) {
        continue;  // to a question that was given up
      }
      inet_diag_msg message{};
      if (head.nlmsg_type != SOCK_DIAG_BY_FAMILY ||
          got < static_cast<ssize_t>(NLMSG_LENGTH(sizeof message)) ||
          head.nlmsg_len < NLMSG_LENGTH(sizeof message)) {
        return std::nullopt;  // an error: the connection is gone
      }
      std::memcpy(&message, bytes.data() + NLMSG_HDRLEN, sizeof message);
      return message.idiag_wqueue;
    }
  }

  base::Descriptor socket_;
  std::uint32_t number_ = 0;
};

}  // namespace

std::unique_ptr<SocketQueues> OpenSocketQueues() {
  base::Descriptor socket_of(
      socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC | SOCK_NONBLOCK, NETLINK_SOCK_DIAG));
  if (!socket_of.open()) {
    return nullptr;
  }
  return std::make_unique<KernelQueues>(std::move(socket_of));
}

bool SharesOurNetwork(int pid) {
  struct stat ours = {};
  struct stat theirs = {};
  const std::string path = "/proc/" + std::to_string(pid) + "/ns/net";
  return stat("/proc/self/ns/net", &ours) == 0 && stat(path.c_str(), &theirs) == 0 &&
         ours.st_dev == theirs.st_dev && ours.st_ino == theirs.st_ino;
}

}  // namespace probes
