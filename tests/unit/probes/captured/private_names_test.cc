// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/private_names.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/captured/capture_contents.h"

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

TEST(PrivateNames, FindsThemInCapitalLetters) {
  PrivateNames names({"stage-pc"}, {"kim"});
  EXPECT_EQ(names.Clean("Kim's phone on STAGE-PC"), "user's phone on host");
}

TEST(PrivateNames, OneUuidGetsOneStandIn) {
  PrivateNames names({}, {});
  // Version 4 and variant 1 as RFC 9562 has them, with the number of the stand-in behind.
  const std::string stand_in = "00000000-0000-4000-8000-000000000001";
  EXPECT_EQ(names.Clean("luks-51d3eedd-2f99-464d-a2bd-1b4f92638c4b"), "luks-" + stand_in);
  EXPECT_EQ(names.CleanUuids("51D3EEDD-2F99-464D-A2BD-1B4F92638C4B x"), stand_in + " x");
  EXPECT_EQ(names.uuids_replaced(), 1U);
  for (const char* text :
       {"51d3eedd-2f99-464d-a2bd-1b4f92638c4", "x-y", "51d3eedd-2f99-464d-a2bd-1b4f92638c4b0",
        "a51d3eedd-2f99-464d-a2bd-1b4f92638c4b"}) {
    EXPECT_EQ(names.CleanUuids(text), text);
  }
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
                          "nobody:x:65534:65534::/:/bin/false\nbroken\n:x:1001:1::/:\n"
                          "lee:x:1002:1002:Lee Made-Up,room 1,,:/home/lee:/bin/sh\n"),
              ElementsAre("kim", "lee", "Lee Made-Up"));
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
  EXPECT_EQ(left_out_.mounts.network_shares, 1U);
}

TEST_F(Contents, RoutesLoseGatewaysAndPublicAddresses) {
  const auto routes =
      Clean("/proc/net/route",
            "Iface Destination Gateway Flags RefCnt Use Metric Mask MTU Window IRTT\n"
            "eth0 00000000 0100A8C0 0003 0 0 100 00000000 0 0 0\n"
            "eth0 0000A8C0 00000000 0001 0 0 100 00FFFFFF 0 0 0\n"    // 192.168.0.0/24
            "eth0 007100CB 0100A8C0 0003 0 0 100 00FFFFFF 0 0 0\n"    // 203.0.113.0/24
            "eth0 000010AC 0100A8C0 0003 0 0 100 0000F0FF 0 0 0\n");  // 172.16.0.0/12
  ASSERT_TRUE(routes);
  EXPECT_THAT(*routes, HasSubstr("eth0\t00000000\t00000000\t0003"));
  EXPECT_THAT(*routes, HasSubstr("eth0\t0000A8C0\t00000000\t0001"));
  EXPECT_THAT(*routes, HasSubstr("eth0\t000010AC\t00000000\t0003"));
  EXPECT_THAT(*routes, Not(HasSubstr("0100A8C0")));
  EXPECT_THAT(*routes, Not(HasSubstr("007100CB")));
  EXPECT_EQ(left_out_.route_lines, 1U);
}

TEST_F(Contents, PropertiesKeepWhatADeviceIs) {
  EXPECT_EQ(Clean("/sys/devices/made/uevent",
                  "DRIVER=usb-storage\nHID_UNIQ=00:11:22:33:44:55\nHID_NAME=Kim's keys\n"
                  "POWER_SUPPLY_SERIAL_NUMBER=17\n"),
            "DRIVER=usb-storage\n");
  EXPECT_EQ(Clean("/run/udev/data/c81:0",
                  "S:v4l/by-path/pci-0000:00:14.0-usb-0:1:1.0-video-index0\n"
                  "S:v4l/by-id/usb-Made_Up_A123-video-index0\nE:ID_SERIAL_SHORT=A123\n"
                  "E:ID_V4L_CAPABILITIES=:capture:\n"),
            "E:ID_V4L_CAPABILITIES=:capture:\n");
}

TEST_F(Contents, BinaryFilesOfUnknownKindsStayBehind) {
  EXPECT_FALSE(Clean("/sys/devices/made/config", std::string("\0\1", 2)));
  EXPECT_EQ(left_out_.strange_files, 1U);
  EXPECT_EQ(Clean("/sys/class/drm/card0-DP-1/edid", std::string("\0\1", 2)), "");
}

TEST_F(Contents, TextsOutsideSysLoseNames) {
  EXPECT_EQ(Clean("/proc/swaps", "/home/kim/swapfile file 1 0 -2\n"),
            "/home/user/swapfile file 1 0 -2\n");
  EXPECT_EQ(Clean("/proc/sys/kernel/hostname", "stage-pc\n"), "host\n");
  EXPECT_EQ(Clean("/proc/cpuinfo", "processor : 0\nSerial : 0000abcd\nModel : kim\n"),
            "processor : 0\nModel : kim\n");
}

TEST_F(Contents, OfSettingsOnlyThoseThatAreReadLeave) {
  EXPECT_EQ(Clean("/var/lib/power-profiles-daemon/state.ini",
                  "# of kim\n[State]\nProfile=performance\nOwner=kim\n[Other]\nKey=SN55\n"),
            "[State]\nProfile=performance\n");
  // An empty unit would be one that is off.
  EXPECT_EQ(Clean("/usr/lib/systemd/system/a.service", "[Service]\nExecStart=/bin/a --key SN55\n"),
            "[Unit]\n");
  EXPECT_EQ(Clean("/etc/systemd/system/a.service", "\n"), "");
  EXPECT_EQ(Clean("/etc/systemd/system/a.timer.d/b.conf",
                  "[Timer]\nOnCalendar=Mon \\\n# of kim\n 06:00\nPersistent=rtmp://kim@h/SN55\n"),
            "[Timer]\nOnCalendar=Mon  06:00\nPersistent=address\n");
}

TEST_F(Contents, VersionsAreNoAddresses) {
  EXPECT_EQ(Clean("/sys/class/dmi/id/bios_version", "1.2.3.4\n"), "1.2.3.4\n");
  EXPECT_EQ(Clean("/proc/sys/kernel/osrelease", "5.15.0.1-made\n"), "5.15.0.1-made\n");
  EXPECT_EQ(Clean("/sys/class/dmi/id/bios_version", "1.2.3.4 at 192.0.2.7\n"),
            "address at address\n");
  EXPECT_EQ(Clean("/sys/devices/made/usb1/1-1/product", "192.0.2.7\n"), "address\n");
}

TEST_F(Contents, OnlyFilesThatAreWatchedByFanotifyLeave) {
  EXPECT_FALSE(Clean("/proc/7/fdinfo/3", "pos: 0\nino: 5\n"));
  EXPECT_EQ(Clean("/proc/7/fdinfo/4", "pos: 0\nfanotify flags:10 event-flags:0\n"),
            "fanotify flags:10 event-flags:0\n");
}

}  // namespace
