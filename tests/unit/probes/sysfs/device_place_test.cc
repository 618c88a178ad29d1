// SPDX-License-Identifier: Apache-2.0

#include "probes/sysfs/device_place.h"

#include <gtest/gtest.h>

namespace {

using probes::IsPciAddress;
using probes::IsUsbDevicePath;
using probes::PlaceOf;

TEST(PlaceOf, FindsTheNearestPciFunctionAndUsbDevice) {
  const auto place = PlaceOf(
      "/sys/devices/pci0000:00/0000:00:1c.0/0000:02:00.0/usb4/4-1/4-1.2/4-1.2:1.0/host6/"
      "target6:0:0/6:0:0:0/block/sda");
  EXPECT_EQ(place.pci_address, "0000:02:00.0");
  EXPECT_EQ(place.usb_path, "4-1.2");
}

TEST(PlaceOf, LeavesEmptyWhatIsNotOnThePath) {
  const auto place = PlaceOf("/sys/devices/virtual/net/lo");
  EXPECT_EQ(place.pci_address, "");
  EXPECT_EQ(place.usb_path, "");
}

TEST(PlaceOf, TakesNoUsbNameOutsideAUsbTree) {
  // I2C devices are named "0-0050": the same shape.
  EXPECT_EQ(PlaceOf("/sys/devices/pci0000:00/0000:00:1f.4/i2c-0/0-50").usb_path, "");
}

TEST(IsPciAddress, RefusesEverythingElse) {
  EXPECT_TRUE(IsPciAddress("0000:00:1f.2"));
  EXPECT_TRUE(IsPciAddress("10000:e1:00.0"));  // domains of volume management devices are longer
  for (const char* text : {"", "0000:00:1f", "0000:00:1f.8", "pci0000:00", "000g:00:1f.2",
                           "::", "6:0:0:0", "0000:00:1f.22"}) {
    EXPECT_FALSE(IsPciAddress(text)) << text;
  }
}

TEST(IsUsbDevicePath, RefusesInterfacesAndRootHubs) {
  EXPECT_TRUE(IsUsbDevicePath("1-1"));
  EXPECT_TRUE(IsUsbDevicePath("12-3.4.10"));
  for (const char* text : {"", "usb1", "1-0:1.0", "1-1:1.0", "1-", "-1", "1-1.", "1-1..2"}) {
    EXPECT_FALSE(IsUsbDevicePath(text)) << text;
  }
}

}  // namespace
