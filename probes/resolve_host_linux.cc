#include "probes/resolve_host.h"

#include <netdb.h>
#include <sys/socket.h>

#include <array>
#include <chrono>
#include <future>
#include <memory>
#include <thread>
#include <utility>

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

ResolvedHost ResolveHost(const std::string& host) {
  ResolvedHost resolved;
  resolved.host = base::Printable(host, 255);
  // The resolver cannot be stopped: a thread of its own waits out what nobody listens to.
  auto promise = std::make_shared<std::promise<Answer>>();
  std::future<Answer> answer = promise->get_future();
  std::thread([promise, host] { promise->set_value(Ask(host)); }).detach();
  resolved.address = answer.wait_for(kLongestWait) == std::future_status::ready
                         ? answer.get()
                         : Answer::Unknown("the resolver did not answer within 4 s");
  return resolved;
}

}  // namespace probes
