// SPDX-License-Identifier: Apache-2.0

#include "probes/sysfs/id_names.h"

#include <gtest/gtest.h>

namespace {

probes::IdNames FindIdNames(std::string_view ids, int vendor_id, int device_id) {
  return probes::FindInBlock(probes::FindVendorBlock(ids, vendor_id), device_id);
}

constexpr std::string_view kIds =
    "# a comment\n"
    "\n"
    "1209  First Vendor\n"
    "\t0003  Camera\n"
    "# between\n"
    "\t0004  Disk\n"
    "\t\t01  interface of the disk\n"
    "120a  Second Vendor\n"
    "\t0003  Microphone\r\n"
    "C 0e  Video\n"
    "\t01  Video Control";

TEST(FindIdNames, FindsVendorAndDevice) {
  EXPECT_EQ(FindIdNames(kIds, 0x1209, 0x0003).vendor, "First Vendor");
  EXPECT_EQ(FindIdNames(kIds, 0x1209, 0x0003).device, "Camera");
  EXPECT_EQ(FindIdNames(kIds, 0x1209, 0x0004).device, "Disk");
  EXPECT_EQ(FindIdNames(kIds, 0x120a, 0x0003).device, "Microphone");
}

TEST(FindIdNames, NeverTakesTheDeviceOfAnotherVendor) {
  EXPECT_EQ(FindIdNames(kIds, 0x120a, 0x0004).vendor, "Second Vendor");
  EXPECT_EQ(FindIdNames(kIds, 0x120a, 0x0004).device, "");
}

TEST(FindIdNames, SaysNothingOfTheUnknown) {
  EXPECT_EQ(FindIdNames(kIds, 0x000e, 0x0001).vendor, "");
  EXPECT_EQ(FindIdNames("", 0x1209, 0x0003).vendor, "");
  EXPECT_EQ(FindIdNames("1209", 0x1209, 0x0003).vendor, "");
  EXPECT_EQ(FindIdNames("1209  ", 0x1209, 0x0003).vendor, "");
}

TEST(FindIdNames, PassesOverSubsystemsOfPciDevices) {
  const std::string_view ids = "1209  V\n\t0001  A\n\t\t1209 0002  Sub\n\t0002  B\n";
  EXPECT_EQ(FindIdNames(ids, 0x1209, 0x0002).device, "B");
}

TEST(FindIdNames, FindsTheVeryFirstLine) {
  EXPECT_EQ(FindIdNames("1209  V\n\t0001  P", 0x1209, 1).device, "P");
}

TEST(FindIdNames, MakesItsTextPrintable) {
  EXPECT_EQ(FindIdNames("1209  V\x1b[2J\n", 0x1209, 1).vendor.find('\x1b'), std::string::npos);
}

}  // namespace
