// SPDX-License-Identifier: Apache-2.0
//
// The server over real sockets of this PC: who waits for whom, and who is shown out.

#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdint>
#include <latch>
#include <memory>
#include <new>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <arpa/inet.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <netinet/in.h>

#include "base/system/descriptor.h"
#include "cli/http/server.h"

namespace cli {
namespace {

using testing::EndsWith;
using testing::HasSubstr;
using testing::StartsWith;

base::Descriptor Connect(int port) {
  base::Descriptor link(socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0));
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  EXPECT_EQ(connect(link.get(), reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
  return link;
}

void Say(const base::Descriptor& link, std::string_view bytes) {
  ASSERT_EQ(send(link.get(), bytes.data(), bytes.size(), MSG_NOSIGNAL),
            static_cast<ssize_t>(bytes.size()));
}

/// All that comes until the other side closes.
std::string Hear(const base::Descriptor& link) {
  std::string heard;
  std::array<char, 4096> block{};
  ssize_t got = 0;
  while ((got = recv(link.get(), block.data(), block.size(), 0)) > 0) {
    heard.append(block.data(), static_cast<std::size_t>(got));
  }
  return heard;
}

/// What comes until a text has come.
std::string HearUntil(const base::Descriptor& link, std::string_view wanted) {
  std::string heard;
  char byte = 0;
  while (heard.find(wanted) == std::string::npos && recv(link.get(), &byte, 1, 0) == 1) {
    heard += byte;
  }
  return heard;
}

/// Lets in who says that he is the owner, and tells the path back.
HttpService Service() {
  HttpService service;
  service.refuse = [](const HttpRequest& head) {
    return head.First("Owner") == "yes" ? std::nullopt : std::optional(Refusal(403, "no"));
  };
  service.answer = [](const HttpRequest& request) {
    HttpResponse response;
    response.body = request.path + request.body;
    return response;
  };
  service.always = {{"X-Always", "1"}};
  service.admits_owner_only = true;
  return service;
}

std::unique_ptr<HttpServer> Start(HttpService service, const HttpLimits& limits) {
  auto listener = Listen("127.0.0.1", 0);
  return std::make_unique<HttpServer>(*std::move(listener), std::move(service), limits);
}

std::string Asked(int port, std::string_view head) {
  const base::Descriptor link = Connect(port);
  Say(link, head);
  return Hear(link);
}

TEST(HttpServer, AnswersAndRefuses) {
  const auto server = Start(Service(), {});
  const std::string answer = Asked(server->port(), "GET /a HTTP/1.1\r\nOwner: yes\r\n\r\n");
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 200 OK\r\n"));
  EXPECT_THAT(answer, HasSubstr("\r\nX-Always: 1\r\n"));
  EXPECT_THAT(answer, EndsWith("\r\n\r\n/a"));
  const std::string head = Asked(server->port(), "HEAD /a HTTP/1.1\r\nOwner: yes\r\n\r\n");
  EXPECT_THAT(head, HasSubstr("\r\nContent-Length: 2\r\n"));
  EXPECT_THAT(head, EndsWith("\r\n\r\n"));
  const std::string refusal = Asked(server->port(), "GET /a HTTP/1.1\r\n\r\n");
  EXPECT_THAT(refusal, StartsWith("HTTP/1.1 403 Forbidden\r\n"));
  EXPECT_THAT(refusal, HasSubstr("\r\nX-Always: 1\r\n"));
  EXPECT_THAT(Asked(server->port(), "\r\n\r\n"), StartsWith("HTTP/1.1 400 Bad Request\r\n"));
}

TEST(HttpServer, GivesAWordToWhoWaitsWithTheBody) {
  const auto server = Start(Service(), {});
  const base::Descriptor link = Connect(server->port());
  Say(link, "POST / HTTP/1.1\r\nOwner: yes\r\nContent-Length: 2\r\nExpect: 100-continue\r\n\r\n");
  EXPECT_EQ(HearUntil(link, "\r\n\r\n"), "HTTP/1.1 100 Continue\r\n\r\n");
  Say(link, "ab");
  EXPECT_THAT(Hear(link), EndsWith("\r\n\r\n/ab"));
}

TEST(HttpServer, SeveralRequestsOfAConnection) {
  HttpLimits limits;
  limits.requests = 2;
  const auto server = Start(Service(), limits);
  const base::Descriptor link = Connect(server->port());
  Say(link, "GET /one HTTP/1.1\r\nOwner: yes\r\n\r\nGET /two HTTP/1.1\r\nOwner: yes\r\n\r\n");
  const std::string heard = Hear(link);
  EXPECT_THAT(heard, HasSubstr("keep-alive\r\nX-Always: 1\r\n\r\n/oneHTTP/1.1 200"));
  EXPECT_THAT(heard, HasSubstr("close\r\nX-Always: 1\r\n\r\n/two"));
}

TEST(HttpServer, WhatThrowsIsAnAnswerToo) {
  HttpService service = Service();
  service.answer = [](const HttpRequest&) -> HttpResponse { throw std::bad_alloc(); };
  const auto server = Start(std::move(service), {});
  EXPECT_THAT(Asked(server->port(), "GET /a HTTP/1.1\r\nOwner: yes\r\n\r\n"),
              StartsWith("HTTP/1.1 500 "));
}

TEST(HttpServer, TheOldestOfTheSilentGoesForANewOne) {
  HttpLimits limits;
  limits.connections = 3;
  limits.request = std::chrono::hours(1);
  const auto server = Start(Service(), limits);
  std::vector<base::Descriptor> silent;
  for (int i = 0; i < 3; ++i) {
    silent.push_back(Connect(server->port()));
    Say(silent.back(), "GET / HTTP");
  }
  EXPECT_THAT(Asked(server->port(), "GET /a HTTP/1.1\r\nOwner: yes\r\n\r\n"), EndsWith("/a"));
  EXPECT_EQ(Hear(silent.front()), "");  // closed, and nobody waited an hour
}

TEST(HttpServer, WhoIsLetInStaysAndBlocksNobody) {
  HttpLimits limits;
  limits.connections = 2;
  std::latch go_on(1);
  std::latch begun(1);
  HttpService service = Service();
  service.answer = [&](const HttpRequest& request) {
    if (request.path == "/long") {
      begun.count_down();
      go_on.wait();
    }
    HttpResponse response;
    response.body = request.path;
    return response;
  };
  const auto server = Start(std::move(service), limits);
  const base::Descriptor owner = Connect(server->port());
  Say(owner, "GET /long HTTP/1.1\r\nOwner: yes\r\n\r\n");
  begun.wait();
  for (int i = 0; i < 5; ++i) {
    const base::Descriptor silent = Connect(server->port());
    EXPECT_THAT(Asked(server->port(), "GET /a HTTP/1.1\r\nOwner: yes\r\n\r\n"), EndsWith("/a"));
    EXPECT_EQ(Hear(silent), "");
  }
  go_on.count_down();
  EXPECT_THAT(Hear(owner), EndsWith("/long"));
}

TEST(HttpServer, WhoIsSlowRunsOutOfTime) {
  HttpLimits limits;
  limits.request = std::chrono::milliseconds(1);
  limits.response = std::chrono::milliseconds(1);
  HttpService service = Service();
  service.answer = [](const HttpRequest&) {
    HttpResponse response;
    response.body = std::string(std::size_t{64} << 20U, 'x');  // more than sockets hold
    return response;
  };
  const auto slow = Start(service, limits);
  const base::Descriptor silent = Connect(slow->port());
  EXPECT_EQ(Hear(silent), "");
  limits.request = std::chrono::hours(1);
  const auto server = Start(std::move(service), limits);
  const base::Descriptor stopped = Connect(server->port());
  Say(stopped, "GET /a HTTP/1.1\r\nOwner: yes\r\n\r\n");
  EXPECT_LT(Hear(stopped).size(), std::size_t{64} << 20U);
}

TEST(HttpServer, EndsWhoeverIsConnected) {
  HttpLimits limits;
  limits.request = std::chrono::hours(1);
  limits.response = std::chrono::hours(1);
  HttpService service = Service();
  service.answer = [](const HttpRequest&) {
    HttpResponse response;
    response.body = std::string(std::size_t{64} << 20U, 'x');
    return response;
  };
  auto server = Start(std::move(service), limits);
  const base::Descriptor silent = Connect(server->port());
  const base::Descriptor reads_nothing = Connect(server->port());
  Say(reads_nothing, "GET /a HTTP/1.1\r\nOwner: yes\r\n\r\n");
  EXPECT_THAT(HearUntil(reads_nothing, "\r\n"), StartsWith("HTTP/1.1 200"));
  server = nullptr;
  EXPECT_EQ(Hear(silent), "");
}

TEST(Listen, NoTwoOnOnePort) {
  const auto one = Listen("127.0.0.1", 0);
  ASSERT_TRUE(one.has_value());
  EXPECT_GT(one->port, 0);
  const auto other = Listen("127.0.0.1", one->port);
  ASSERT_FALSE(other.has_value());
  EXPECT_THAT(other.error().detail, HasSubstr("cannot be listened on"));
  EXPECT_FALSE(Listen("localhost", 0).has_value());
  EXPECT_FALSE(Listen("192.0.2.1", 0).has_value());  // RFC 5737: of no PC
}

}  // namespace
}  // namespace cli
