// SPDX-License-Identifier: Apache-2.0
//
// Who is answered, and which names name something of the folder.

#include <set>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "cli/local_page/admission.h"
#include "cli/local_page/names.h"
#include "cli/local_page/secret.h"

namespace cli {
namespace {

const Keys kKeys{std::string(64, 'a'), std::string(32, 'c'), std::string(64, 'b'), 4321};

RequestHead Get(const std::string& path = "/api/state") {
  RequestHead head;
  head.method = "GET";
  head.path = "/" + kKeys.place + path;
  head.hosts = {"127.0.0.1:4321"};
  head.cookies = {"other=1; rigproof_4321=" + kKeys.cookie};
  return head;
}

RequestHead Post() {
  RequestHead head = Get("/api/run");
  head.method = "POST";
  head.origins = {"http://127.0.0.1:4321"};
  head.content_type = "application/json";
  return head;
}

int RefusalOf(const RequestHead& head) {
  const Admission admission = Admit(head, kKeys);
  return admission.gate == Gate::kRefused ? admission.status : 0;
}

TEST(Admit, LetsInWhoHasTheCookie) {
  EXPECT_EQ(Admit(Get(), kKeys).gate, Gate::kIn);
  EXPECT_EQ(Admit(Post(), kKeys).gate, Gate::kIn);
  RequestHead local = Post();
  local.hosts = {"localhost:4321"};
  local.origins = {"http://localhost:4321"};
  EXPECT_EQ(Admit(local, kKeys).gate, Gate::kIn);
}

TEST(Admit, ExchangesTheTokenAtTheTopOnly) {
  RequestHead head = Get();
  head.path = "/";
  head.cookies = {};
  head.token = kKeys.token;
  head.fetch_sites = {"cross-site"};  // opened from another page, a file, a mail
  EXPECT_EQ(Admit(head, kKeys).gate, Gate::kExchange);
  head.token = kKeys.cookie;
  EXPECT_EQ(RefusalOf(head), 403);
  head.token = "";
  EXPECT_EQ(RefusalOf(head), 403);
  head.token = kKeys.token;
  head.path = "/" + kKeys.place + "/";
  EXPECT_EQ(RefusalOf(head), 403);
  head.path = "/";
  head.hosts = {"rebound.example:4321"};
  EXPECT_EQ(RefusalOf(head), 421);
}

TEST(Admit, RefusesEveryOtherName) {
  for (const std::string host :
       {"", "127.0.0.1", "localhost", "127.0.0.1:4322", "127.0.0.1:04321", "127.0.0.2:4321",
        "rebound.example:4321", "127.0.0.1:4321.rebound.example", "user@127.0.0.1:4321",
        "127.0.0.1:4321 ", "[::1]:4321", "2130706433:4321"}) {
    RequestHead head = Get();
    head.hosts = {host};
    EXPECT_EQ(RefusalOf(head), 421) << host;
  }
  RequestHead twice = Get();
  twice.hosts = {"127.0.0.1:4321", "rebound.example"};
  EXPECT_EQ(RefusalOf(twice), 421);
  twice.hosts = {};
  EXPECT_EQ(RefusalOf(twice), 421);
}

// RFC 9110, sections 4.2.1 and 7.2: port 80 is the default of http and may be left out of Host.
TEST(Admit, OnPort80TheHostMayComeBare) {
  Keys keys = kKeys;
  keys.port = 80;
  for (const std::string host : {"127.0.0.1", "localhost", "127.0.0.1:80", "localhost:80"}) {
    RequestHead head = Post();
    head.hosts = {host};
    head.origins = {"http://" + host};
    head.cookies = {"rigproof_80=" + keys.cookie};
    EXPECT_EQ(Admit(head, keys).gate, Gate::kIn) << host;
  }
  RequestHead other = Post();
  other.hosts = {"rebound.example"};
  EXPECT_EQ(Admit(other, keys).status, 421);
}

TEST(Admit, RefusesWithoutTheRightCookie) {
  for (const std::string& cookie :
       {std::string(), std::string("rigproof_4321="), "rigproof_4321=" + kKeys.cookie + "b",
        "rigproof_4321=" + kKeys.cookie.substr(1), "rigproof_4321=" + kKeys.token,
        "rigproof_4322=" + kKeys.cookie, "xrigproof_4321=" + kKeys.cookie}) {
    RequestHead head = Get();
    head.cookies = {cookie};
    EXPECT_EQ(RefusalOf(head), 403) << cookie;
    head.method = "POST";
    head.origins = {"http://127.0.0.1:4321"};
    head.content_type = "application/json";
    EXPECT_EQ(RefusalOf(head), 403) << cookie;
  }
  RequestHead planted = Get();  // by another program of this PC
  planted.cookies = {"rigproof_4321=x; rigproof_4321=" + kKeys.cookie};
  EXPECT_EQ(Admit(planted, kKeys).gate, Gate::kIn);
}

TEST(Admit, ServesNothingBesideItsPlace) {
  for (const std::string& path :
       {std::string("/"), std::string("/api/state"), std::string(), std::string("//"),
        "/" + kKeys.place, kKeys.place + "/", "/" + kKeys.place + "c/", "//" + kKeys.place + "/",
        "/" + kKeys.place.substr(1) + "/", "/api/../" + kKeys.place + "/",
        "/" + kKeys.cookie + "/"}) {
    RequestHead head = Get();
    head.path = path;
    EXPECT_EQ(RefusalOf(head), 403) << path;
  }
  EXPECT_EQ(PathInPlace("/" + kKeys.place + "/api/state", kKeys), "/api/state");
  EXPECT_EQ(PathInPlace("/" + kKeys.place + "//x", kKeys), "//x");
}

// RFC 6265, 8.5: cookies go to every port of a host; 5.1.4: and to no path that is not below
// theirs.
TEST(CookieOf, IsForThePlaceOnly) {
  const std::string cookie = CookieOf(kKeys);
  EXPECT_THAT(cookie, testing::HasSubstr("; Path=/" + kKeys.place + "/;"));
  EXPECT_THAT(cookie, testing::HasSubstr("HttpOnly"));
  EXPECT_THAT(cookie, testing::HasSubstr("SameSite=Strict"));
  EXPECT_THAT(cookie, testing::Not(testing::HasSubstr(kKeys.token)));
}

TEST(Admit, OnlyThePageItselfChangesSomething) {
  for (const std::string origin : {"null", "http://rebound.example", "https://127.0.0.1:4321",
                                   "http://127.0.0.1:9", "http://localhost:4321"}) {
    RequestHead head = Post();
    head.origins = {origin};
    EXPECT_EQ(RefusalOf(head), 403) << origin;
  }
  RequestHead none = Post();
  none.origins = {};
  EXPECT_EQ(RefusalOf(none), 403);
  RequestHead form = Post();
  form.content_type = "text/plain";
  EXPECT_EQ(RefusalOf(form), 415);
  for (const std::string method : {"PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT"}) {
    RequestHead head = Post();
    head.method = method;
    EXPECT_EQ(RefusalOf(head), 405) << method;
  }
}

TEST(Admit, RefusesWhatAnotherPageAsksFor) {
  for (const std::string site : {"cross-site", "same-site", ""}) {
    RequestHead head = Get("/result/report.html");
    head.fetch_sites = {site};
    EXPECT_EQ(RefusalOf(head), 403) << site;
  }
  for (const std::string site : {"same-origin", "none"}) {
    RequestHead head = Get();
    head.fetch_sites = {site};
    EXPECT_EQ(RefusalOf(head), 0) << site;
  }
}

TEST(Secret, HasManyBitsAndNeverComesTwice) {
  std::set<std::string> seen;
  for (int i = 0; i < 100; ++i) {
    const auto secret = NewSecret();
    ASSERT_TRUE(secret.has_value());
    EXPECT_EQ(secret->size(), 64U);  // 256 bits, four a digit
    EXPECT_EQ(secret->find_first_not_of("0123456789abcdef"), std::string::npos);
    seen.insert(*secret);
  }
  EXPECT_EQ(seen.size(), 100U);
}

TEST(SameSecret, LooksAtEveryByte) {
  const std::string secret = "0123456789abcdef";
  EXPECT_TRUE(SameSecret(secret, secret));
  EXPECT_TRUE(SameSecret("", ""));
  EXPECT_FALSE(SameSecret("", secret));
  EXPECT_FALSE(SameSecret(secret + "0", secret));
  for (std::size_t at = 0; at < secret.size(); ++at) {
    std::string other = secret;
    other[at] = 'x';
    EXPECT_FALSE(SameSecret(other, secret)) << at;
  }
  EXPECT_FALSE(SameSecret(std::string("\x80", 1), std::string("\0", 1)));
}

TEST(Names, AreNeverPaths) {
  for (const std::string name : {"friday", "friday show 2", "Übertragung", "a.b", "x-1_2"}) {
    EXPECT_TRUE(IsName(name)) << name;
  }
  for (const std::string& name :
       {std::string(), std::string("."), std::string(".."), std::string("../x"), std::string("a/b"),
        std::string("/etc"), std::string("a\\b"), std::string(".hidden"), std::string("-x"),
        std::string(" x"), std::string("x "), std::string("x."), std::string("a\nb"),
        std::string("a\0b", 3), std::string("\xff"), std::string("\u202etxt"),
        std::string(81, 'a')}) {
    EXPECT_FALSE(IsName(name)) << name;
    EXPECT_FALSE(IsProfileName(name)) << name;
  }
  EXPECT_TRUE(IsResultName("."));
  EXPECT_FALSE(IsResultName(".."));
  EXPECT_FALSE(IsProfileName("result"));
  EXPECT_FALSE(IsProfileName("comparison"));
}

}  // namespace
}  // namespace cli
