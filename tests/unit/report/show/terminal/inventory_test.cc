// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/inventory.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/golden.h"
#include "tests/support/sample_inventory.h"

namespace report {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(WriteInventoryText, ShowsAMachine) {
  tests::ExpectGolden("inventory_80.txt",
                      WriteInventoryText(tests::SampleInventory(), {false, 80}));
}

TEST(WriteInventoryText, ShowsAMachineOnANarrowTerminal) {
  tests::ExpectGolden("inventory_40.txt",
                      WriteInventoryText(tests::SampleInventory(), {false, 40}));
}

TEST(WriteInventoryText, ShowsEverythingInDetail) {
  tests::ExpectGolden("inventory_details_80.txt",
                      WriteInventoryText(tests::SampleInventory(), {false, 80, true}));
}

TEST(WriteInventoryText, TellsWhyThingsAreUnknown) {
  probes::Inventory inventory;
  inventory.live = false;
  inventory.machine_root = "captured";
  inventory.cpu.model = base::Reading<std::string>::Unknown("no /proc/cpuinfo");
  inventory.usb.present = base::Reading<bool>::Unknown("no /sys/bus/usb");
  inventory.codecs.tried = base::Reading<bool>::Unknown("a captured machine");
  inventory.network.why_unknown = "no /sys/class/net";
  const std::string text = WriteInventoryText(inventory, {false, 80});
  EXPECT_THAT(text, HasSubstr("What the PC captured in captured has"));
  EXPECT_THAT(text, HasSubstr("unknown: no /proc/cpuinfo"));
  EXPECT_THAT(text, HasSubstr("unknown: no /sys/bus/usb"));
  EXPECT_THAT(text, HasSubstr("unknown: a captured machine"));
  EXPECT_THAT(text, HasSubstr("unknown: no /sys/class/net"));
}

TEST(WriteInventoryText, DrawsEachUsbDeviceOnceHoweverTheyAreTied) {
  probes::Inventory inventory;
  inventory.usb.present = true;
  inventory.usb.controllers.resize(2);
  inventory.usb.controllers[0].buses = {1};
  inventory.usb.controllers[1].buses = {1};
  inventory.usb.devices.resize(3);
  inventory.usb.devices[0].path = "1-1";
  inventory.usb.devices[0].parent = "1-2";
  inventory.usb.devices[1].path = "1-2";
  inventory.usb.devices[1].parent = "1-1";
  inventory.usb.devices[2].path = "1-3";
  inventory.usb.devices[2].parent = "1-3";
  const std::string text = WriteInventoryText(inventory, {false, 80});
  for (const char* path : {"1-1 ", "1-2 ", "1-3 "}) {
    const std::size_t first = text.find(path);
    ASSERT_NE(first, std::string::npos) << path;
    EXPECT_EQ(text.find(path, first + 1), std::string::npos) << path;
  }
}

TEST(WriteInventoryText, KeepsEscapeCodesOut) {
  EXPECT_THAT(WriteInventoryText(tests::SampleInventory(), {false, 80}), Not(HasSubstr("\x1b")));
}

}  // namespace
}  // namespace report
