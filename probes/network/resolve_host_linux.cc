// SPDX-License-Identifier: Apache-2.0

#include "probes/network/resolve_host.h"

#include <netdb.h>
#include <sys/socket.h>

#include <array>
#include <chrono>
#include <memory>

#include "base/system/answer_within.h"
#include "base/text.h"

namespace probes {
namespace {

using Answer = base::Reading<std::string>;

constexpr std::chrono::seconds kLongestWait{4};

Answer Ask(const std::string& host) {
  addrinfo wanted{};
  wanted.ai_family = AF_UNSPEC;
  wanted.ai_socktype = SOCK_STREAM;
  addrinfo* found = nullptr;
  const int failed = getaddrinfo(host.c_str(), nullptr, &wanted, &found);
  if (failed != 0) {
    return Answer::Unknown(std::string("the resolver says: ") + gai_strerror(failed));
  }
  const std::unique_ptr<addrinfo, void (*)(addrinfo*)> owner(found, freeaddrinfo);
  std::array<char, NI_MAXHOST> number{};
  if (getnameinfo(found->ai_addr, found->ai_addrlen, number.data(), number.size(), nullptr, 0,
                  NI_NUMERICHOST) != 0) {
    return Answer::Unknown("the resolver's answer is no number");
  }
  return base::Printable(number.data(), 60);
}

}  // namespace

ResolvedHost ResolveHost(const std::string& host, const std::stop_token& stop) {
  ResolvedHost resolved;
  resolved.host = base::Printable(host, 255);
  const auto answer = base::AnswerWithin<Answer>(
      kLongestWait, [host] { return Ask(host); }, stop);
  resolved.address = answer ? *answer : Answer::Unknown("the resolver: " + answer.error().detail);
  return resolved;
}

}  // namespace probes
