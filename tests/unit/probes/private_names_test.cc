#include "probes/private_names.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/capture_contents.h"

namespace {

using probes::CleanContent;
using probes::LeftOut;
using probes::ParsePeople;
using probes::PrivateNames;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

TEST(PrivateNames, ReplacesWholeWordsOnly) {
  PrivateNames names({"stage-pc.example.test"}, {"kim"});
  EXPECT_EQ(names.Clean("/media/kim/CARD"), "/media/user/CARD");
  EXPECT_EQ(names.Clean("/media/kimono/CARD"), "/media/kimono/CARD");
  EXPECT_EQ(names.Clean("/mnt/stage-pc/x"), "/mnt/host/x");  // without its domain, too
  EXPECT_EQ(names.Clean("stage-pc.example.test"), "host");
}

TEST(PrivateNames, FindsTheHostInsideAVolumesName) {
  PrivateNames names({"stage-pc"}, {});
  EXPECT_EQ(names.Clean("stage--pc-root"), "host-root");  // LVM doubles the hyphens of its parts
  EXPECT_EQ(names.Clean("made_stage-pc-home"), "made_host-home");
}

TEST(PrivateNames, LeavesTooShortAndGeneralNames) {
  PrivateNames names({"a", "localhost"}, {"root", ""});
  EXPECT_EQ(names.Clean("/root/a localhost"), "/root/a localhost");
  EXPECT_EQ(names.names_replaced(), 0U);
}

TEST(PrivateNames, OneAddressGetsOneStandIn) {
  PrivateNames names({}, {});
  // 02 in the first byte: locally administered (IEEE 802, the U/L bit).
  EXPECT_EQ(names.CleanAddresses("enx0a1b2c3d4e5f"), "enx020000000001");
  EXPECT_EQ(names.CleanAddresses("x 0A:1B:2C:3D:4E:5F y"), "x 02:00:00:00:00:01 y");
  EXPECT_EQ(names.CleanAddresses("hid-11:22:33:44:55:66-battery"), "hid-02:00:00:00:00:02-battery");
  EXPECT_EQ(names.addresses_replaced(), 2U);
}

TEST(PrivateNames, WhatLooksAlikeIsLeft) {
  PrivateNames names({}, {});
  for (const char* text :
       {"0000:00:14.0", "0003:046D:C52B.0001", "1-1:1.0", "enx12345", "00:11:22:33:44:55:66:77",
        "51d3eedd-2f99-464d-a2bd-1b4f92638c4b", "00:11-22:33:44:55", ""}) {
    EXPECT_EQ(names.CleanAddresses(text), text);
  }
}

TEST(ParsePeople, TakesOrdinaryUsers) {
  EXPECT_THAT(ParsePeople("root:x:0:0::/root:/bin/sh\nkim:x:1000:1000::/home/kim:/bin/sh\n"
                          "nobody:x:65534:65534::/:/bin/false\nbroken\n:x:1001:1::/:\n"),
              ElementsAre("kim"));
}

class Contents : public testing::Test {
 protected:
  std::optional<std::string> Clean(const std::string& path, const std::string& text) {
    return CleanContent(path, text, names_, left_out_);
  }

  PrivateNames names_{{"stage-pc"}, {"kim"}};
  LeftOut left_out_;
};

TEST_F(Contents, SerialNumbersAndAddressesAreEmptied) {
  EXPECT_EQ(Clean("/sys/devices/made/usb1/1-1/serial", "A123\n"), "\n");
  EXPECT_EQ(Clean("/sys/class/net/eth0/address", "00:11:22:33:44:55\n"), "\n");
  EXPECT_EQ(Clean("/sys/class/dmi/id/product_uuid", "u\n"), "\n");
  EXPECT_EQ(Clean("/sys/devices/virtual/block/dm-0/dm/uuid", "CRYPT-LUKS2-0123-kim\n"), "CRYPT-\n");
  EXPECT_EQ(left_out_.serial_files, 2U);
  EXPECT_EQ(left_out_.address_files, 1U);
  EXPECT_EQ(left_out_.volume_ids, 1U);
}

TEST_F(Contents, OtherFilesLeaveByteForByte) {
  const std::string bytes("\x12\x01\0\xff stage-pc", 13);
  EXPECT_EQ(Clean("/sys/devices/made/usb1/1-1/descriptors", bytes), bytes);
}

TEST_F(Contents, DeviceTextsLoseNames) {
  EXPECT_EQ(Clean("/sys/devices/made/usb1/1-1/product", "Phone of kim\n"), "Phone of user\n");
}

TEST_F(Contents, NetworkSharesKeepOnlyTheirPlace) {
  const auto text = Clean("/proc/self/mountinfo",
                          "1 0 8:1 / /home/kim rw - ext4 /dev/mapper/stage--pc-home rw\n"
                          "2 0 0:9 / /mnt rw - cifs //server/share rw,username=kim,domain=d\n");
  ASSERT_TRUE(text);
  EXPECT_EQ(*text,
            "1 0 8:1 / /home/user rw - ext4 /dev/mapper/host-home rw\n"
            "2 0 0:9 / /mnt rw - cifs share rw\n");
  EXPECT_EQ(left_out_.network_shares, 1U);
}

TEST_F(Contents, RoutesLoseAddresses) {
  const auto routes =
      Clean("/proc/net/route",
            "Iface Destination Gateway Flags RefCnt Use Metric Mask MTU Window IRTT\n"
            "eth0 00000000 0100A8C0 0003 0 0 100 00000000 0 0 0\n"
            "eth0 0000A8C0 00000000 0001 0 0 100 00FFFFFF 0 0 0\n");
  ASSERT_TRUE(routes);
  EXPECT_THAT(*routes, HasSubstr("eth0\t00000000\t00000000\t0003"));
  EXPECT_THAT(*routes, Not(HasSubstr("A8C0")));
  EXPECT_EQ(left_out_.route_lines, 1U);
}

TEST_F(Contents, OnlyFilesThatAreWatchedByFanotifyLeave) {
  EXPECT_FALSE(Clean("/proc/7/fdinfo/3", "pos: 0\nino: 5\n"));
  EXPECT_EQ(Clean("/proc/7/fdinfo/4", "pos: 0\nfanotify flags:10 event-flags:0\n"),
            "fanotify flags:10 event-flags:0\n");
}

}  // namespace
