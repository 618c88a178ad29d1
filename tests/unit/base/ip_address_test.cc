// SPDX-License-Identifier: Apache-2.0

#include "base/ip_address.h"

#include <gtest/gtest.h>

namespace base {
namespace {

std::string Again(std::string_view text) {
  const auto address = ParseIpAddress(text);
  return address ? ToText(*address) : "none";
}

// RFC 5952 section 4: the one way to write an IPv6 address.
TEST(ParseIpAddress, ReadsNumbersAndWritesThemTheOneWay) {
  EXPECT_EQ(Again("192.0.2.1"), "192.0.2.1");
  EXPECT_EQ(Again("2001:0db8:0000:0000:0000:0000:0002:0001"), "2001:db8::2:1");
  EXPECT_EQ(Again("2001:DB8::1"), "2001:db8::1");
  EXPECT_EQ(Again("[2001:db8::1]"), "2001:db8::1");
  EXPECT_EQ(Again("::"), "::");
}

TEST(ParseIpAddress, NamesAndScrapsAreNone) {
  for (const char* text : {"", "live.example.org", "192.0.2", "192.0.2.256", "192.0.2.1:80", "[::1",
                           "1", "2001:db8:::1", " 192.0.2.1"}) {
    EXPECT_EQ(Again(text), "none") << text;
  }
}

// RFC 4632 section 3.1: prefixes end inside a byte too.
TEST(InPrefix, CountsBits) {
  const auto in = [](const char* address, const char* prefix, int bits) {
    return InPrefix(*ParseIpAddress(address), *ParseIpAddress(prefix), bits);
  };
  EXPECT_TRUE(in("10.1.255.255", "10.0.0.0", 15));
  EXPECT_FALSE(in("10.2.0.0", "10.0.0.0", 15));
  EXPECT_TRUE(in("192.0.2.1", "0.0.0.0", 0));
  EXPECT_TRUE(in("192.0.2.1", "192.0.2.1", 32));
  EXPECT_FALSE(in("192.0.2.1", "192.0.2.0", 32));
  EXPECT_TRUE(in("2001:db8:ffff::", "2001:db8::", 32));
  EXPECT_FALSE(in("2001:db9::", "2001:db8::", 32));
  EXPECT_FALSE(in("::1", "0.0.0.0", 0));
  EXPECT_FALSE(in("192.0.2.1", "0.0.0.0", 33));
  EXPECT_FALSE(in("192.0.2.1", "0.0.0.0", -1));
}

TEST(IsLoopback, KnowsBothKinds) {
  EXPECT_TRUE(IsLoopback(*ParseIpAddress("127.9.9.9")));
  EXPECT_TRUE(IsLoopback(*ParseIpAddress("::1")));
  EXPECT_FALSE(IsLoopback(*ParseIpAddress("128.0.0.1")));
}

// Blocks of RFC 1918, 3927, 4193, 6598; 192.0.2.0/24 and 2001:db8::/32 (RFC 5737, 3849)
// stand in for public ones.
TEST(IsOfNoPlace, PrivateAndSharedBlocks) {
  for (const char* text : {"10.255.0.1", "172.31.255.255", "192.168.1.1", "169.254.7.7",
                           "100.127.0.1", "fd00::1", "fe80::1", "239.1.1.1"}) {
    EXPECT_TRUE(IsOfNoPlace(*ParseIpAddress(text))) << text;
  }
  for (const char* text :
       {"172.32.0.0", "192.169.0.0", "100.128.0.1", "192.0.2.1", "2001:db8::1"}) {
    EXPECT_FALSE(IsOfNoPlace(*ParseIpAddress(text))) << text;
  }
}

}  // namespace
}  // namespace base
