// SPDX-License-Identifier: Apache-2.0
//
// USB devices as a tree: power saving of each, every unknown with its reason.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/rows/machine.h"
#include "tests/support/hostile_document.h"
#include "tests/support/shown_part.h"

namespace report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using tests::InFull;
using tests::InShort;

probes::UsbDevice Device(probes::UsbRole role, const std::string& power) {
  probes::UsbDevice device;
  device.path = "2-1";
  device.product = "Invented thing";
  device.speed_mbps = 480;
  device.best_speed_mbps = 480.0;
  device.power_control = power;
  device.role = role;
  return device;
}

show::Part TreeOf(const probes::UsbDevice& device) {
  probes::UsbInventory usb;
  usb.present = true;
  usb.devices = {device};
  return UsbPart(usb);
}

TEST(UsbPart, TellsThePowerSavingOfWhatCapturesNothingInTheLongForm) {
  const auto disk = Device(probes::UsbRole::kStorage, "auto");
  EXPECT_THAT(InFull(TreeOf(disk)), HasSubstr("Invented thing, 480 Mb/s, may be suspended"));
  EXPECT_THAT(InShort(TreeOf(disk)), Not(HasSubstr("suspended")));
  const auto mixer = Device(probes::UsbRole::kAudio, "on");
  EXPECT_THAT(InFull(TreeOf(mixer)), HasSubstr("480 Mb/s, never suspended"));
}

TEST(UsbPart, ACameraThatMayBeSuspendedSaysSoOnceInBothForms) {
  const auto camera = Device(probes::UsbRole::kCapture, "auto");
  EXPECT_EQ(InFull(TreeOf(camera)), InShort(TreeOf(camera)));
  EXPECT_THAT(InShort(TreeOf(camera)), HasSubstr("480 Mb/s, may be suspended"));
  const auto awake = Device(probes::UsbRole::kCapture, "on");
  EXPECT_THAT(InShort(TreeOf(awake)), Not(HasSubstr("suspended")));
}

TEST(UsbPart, EveryUnknownHasItsReasonAndNoneIsZero) {
  probes::UsbDevice device = Device(probes::UsbRole::kOther, "");
  device.speed_mbps = 0;
  device.best_speed_mbps = base::Reading<double>::Unknown("why best");
  device.power_control = base::Reading<std::string>::Unknown("why power");
  device.descriptor_fault = "ends after five bytes";
  EXPECT_THAT(InFull(TreeOf(device)),
              AllOf(HasSubstr("power saving unknown: why power"),
                    HasSubstr("best speed unknown: why best"), HasSubstr("speed unknown"),
                    HasSubstr("descriptors: ends after five bytes"), Not(HasSubstr("0"))));
}

TEST(UsbPart, SaysWhyThereIsNoTree) {
  probes::UsbInventory usb;
  usb.present = false;
  EXPECT_EQ(InFull(UsbPart(usb)), "USB USB none");
  usb.present = base::Reading<bool>::Unknown("no /sys/bus/usb");
  EXPECT_THAT(InFull(UsbPart(usb)), HasSubstr("unknown: no /sys/bus/usb"));
}

TEST(UsbPart, AControllerWithoutDriverIsNotOneWhoseDriverIsUnknown) {
  probes::UsbInventory usb;
  usb.present = true;
  usb.controllers.resize(2);
  usb.controllers[0].driver = std::string();
  usb.controllers[1].driver = base::Reading<std::string>::Unknown("why driver");
  EXPECT_THAT(InFull(UsbPart(usb)),
              AllOf(HasSubstr("driver none"), HasSubstr("driver unknown: why driver")));
}

// Names that look like paths, cycles of parents and a device that hangs from itself.
TEST(UsbPart, ShowsEachDeviceOnceHoweverTheyAreTiedAndNamed) {
  for (int number = 0; number < 8; ++number) {
    probes::UsbInventory usb;
    usb.present = true;
    usb.devices = {Device(probes::UsbRole::kHub, "on"), Device(probes::UsbRole::kHub, "on"),
                   Device(probes::UsbRole::kHub, HostileText(number))};
    usb.devices[1].path = usb.devices[2].path = HostileText(number);
    usb.devices[0].parent = usb.devices[1].parent = usb.devices[2].parent = HostileText(number);
    for (probes::UsbDevice& device : usb.devices) {
      device.product = HostileText(number);
    }
    const auto part = UsbPart(usb);
    EXPECT_EQ(std::get<show::Tree>(part.blocks.front()).branches.size(), 3U);
    EXPECT_THAT(InFull(part), AllOf(Not(HasSubstr("\x1b")), Not(HasSubstr("\xE2\x80\xAE")),
                                    Not(HasSubstr("\xFF"))));
  }
}

}  // namespace
}  // namespace report
