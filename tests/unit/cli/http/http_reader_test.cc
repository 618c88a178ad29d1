// SPDX-License-Identifier: Apache-2.0
//
// Requests put together from bytes: what is taken, and what a stranger may cost before that.

#include <string>
#include <string_view>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "cli/http/message.h"
#include "cli/http/request_reader.h"

namespace cli {
namespace {

using Stage = RequestReader::Stage;
using testing::ElementsAre;
using testing::HasSubstr;

HttpLimits Limits() {
  HttpLimits limits;
  limits.body_bytes = 10;
  return limits;
}

/// The status that bytes are refused with; 0 where they are not.
int RefusalOf(std::string_view bytes, const HttpLimits& limits = Limits()) {
  RequestReader reader(limits);
  if (reader.Take(bytes) == Stage::kHeadRead) {
    reader.GoOn();
  }
  return reader.stage() == Stage::kRefused ? reader.refusal().status : 0;
}

TEST(RequestReader, TakesARequestHoweverItComes) {
  const std::string bytes =
      "POST /a%20b?name=x+y%2b&name=&flag HTTP/1.1\r\nHost: one\r\nhost: two\r\n"
      "Content-Length: 4\r\n\r\nbodyGET";
  for (const std::size_t block : {std::size_t{1}, std::size_t{7}, bytes.size()}) {
    RequestReader reader(Limits());
    for (std::size_t at = 0; at < bytes.size(); at += block) {
      if (reader.Take(std::string_view(bytes).substr(at, block)) == Stage::kHeadRead) {
        EXPECT_EQ(reader.request().body, "");
        reader.GoOn();
      }
    }
    ASSERT_EQ(reader.stage(), Stage::kWhole) << block;
    const HttpRequest& request = reader.request();
    EXPECT_EQ(request.method, "POST");
    EXPECT_EQ(request.path, "/a b");
    EXPECT_EQ(request.body, "body");
    EXPECT_THAT(request.Parameters("name"), ElementsAre("x y+", ""));
    EXPECT_TRUE(request.HasParameter("flag"));
    EXPECT_THAT(request.All("HOST"), ElementsAre("one", "two"));  // RFC 9110, 5.1: in any case
    EXPECT_TRUE(reader.KeepsAlive());
  }
}

TEST(RequestReader, TheNextRequestMayHaveComeAlong) {
  RequestReader reader(Limits());
  reader.Take("GET /one HTTP/1.1\r\n\r\nGET /two HTTP/1.0\r\n\r\nGE");
  EXPECT_EQ(reader.GoOn(), Stage::kWhole);
  EXPECT_EQ(reader.request().path, "/one");
  EXPECT_EQ(reader.Next(), Stage::kHeadRead);
  reader.GoOn();
  EXPECT_EQ(reader.request().path, "/two");
  EXPECT_FALSE(reader.KeepsAlive());  // RFC 9112, 9.3
  EXPECT_EQ(reader.Next(), Stage::kHead);
}

TEST(RequestReader, AHeadHasAnEnd) {
  HttpLimits limits = Limits();
  const std::string begin = "GET / HTTP/1.1\r\n";
  const auto with = [&](std::size_t bytes) {
    const std::string name = "a: ";
    return begin + name + std::string(bytes - begin.size() - name.size() - 4, 'x') + "\r\n\r\n";
  };
  EXPECT_EQ(RefusalOf(with(limits.head_bytes), limits), 0);
  EXPECT_EQ(RefusalOf(with(limits.head_bytes + 1), limits), 431);  // RFC 6585, section 5
  RequestReader endless(limits);
  std::size_t taken = 0;
  while (endless.Take("abcdefgh") == Stage::kHead) {
    taken += 8;
    ASSERT_LE(taken, limits.head_bytes);
  }
  EXPECT_EQ(endless.stage(), Stage::kRefused);
}

TEST(RequestReader, AHeadHasAHundredFields) {
  const HttpLimits limits = Limits();
  const auto with = [](int fields) {
    std::string head = "GET / HTTP/1.1\r\n";
    for (int i = 0; i < fields; ++i) {
      head += "a:b\r\n";
    }
    return head;
  };
  EXPECT_EQ(RefusalOf(with(100) + "\r\n", limits), 0);
  EXPECT_EQ(RefusalOf(with(101) + "\r\n", limits), 431);
  EXPECT_EQ(RefusalOf(with(102), limits), 431);  // before its end
}

TEST(RequestReader, RefusesWhatIsNoRequest) {
  for (const std::string_view bytes :
       {"\r\n\r\n", "GET\r\n\r\n", "GET / HTTP/2.0\r\n\r\n", "GET / HTTP/1.1\nHost: x\r\n\r\n",
        "GET / HTTP/1.1\r\n Host: x\r\n\r\n", "GET / HTTP/1.1\r\nno field\r\n\r\n",
        "GET http://x/ HTTP/1.1\r\n\r\n", "GET * HTTP/1.1\r\n\r\n", "GET /%2 HTTP/1.1\r\n\r\n",
        "GET /?a=%zz HTTP/1.1\r\n\r\n", "GET / HTTP/1.1\r\nContent-Length: -1\r\n\r\n",
        "GET / HTTP/1.1\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",
        "GET / HTTP/1.1\r\nContent-Length: 1\r\nTransfer-Encoding: chunked\r\n\r\n"}) {
    EXPECT_EQ(RefusalOf(bytes), 400) << bytes;
  }
  EXPECT_EQ(RefusalOf("POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n"), 411);
  EXPECT_EQ(RefusalOf("POST / HTTP/1.1\r\nTransfer-Encoding: gzip\r\n\r\n"), 411);
  EXPECT_EQ(RefusalOf("POST / HTTP/1.1\r\nContent-Length: 10\r\n\r\n"), 0);
  EXPECT_EQ(RefusalOf("POST / HTTP/1.1\r\nContent-Length: 11\r\n\r\n"), 413);
  EXPECT_EQ(RefusalOf("POST / HTTP/1.1\r\nContent-Length: 18446744073709551615\r\n\r\n"), 413);
}

// RFC 9110, 10.1.1.
TEST(RequestReader, KnowsWhoWaitsForAWord) {
  const std::string head = "POST / HTTP/1.1\r\nContent-Length: 2\r\nExpect: 100-continue\r\n\r\n";
  RequestReader waits(Limits());
  waits.Take(head);
  EXPECT_TRUE(waits.AwaitsContinue());
  RequestReader has_sent(Limits());
  has_sent.Take(head + "{");
  EXPECT_FALSE(has_sent.AwaitsContinue());
}

TEST(ResponseHead, IsAsTheStandardHasIt) {
  HttpResponse response;
  response.status = 404;
  response.body = "gone\n";
  response.fields = {{"X-One", "1"}};
  EXPECT_EQ(ResponseHead(response, false),
            "HTTP/1.1 404 Not Found\r\nContent-Type: text/plain; charset=utf-8\r\n"
            "Content-Length: 5\r\nConnection: close\r\nX-One: 1\r\n\r\n");
  EXPECT_THAT(ResponseHead(response, true), HasSubstr("\r\nConnection: keep-alive\r\n"));
}

}  // namespace
}  // namespace cli
