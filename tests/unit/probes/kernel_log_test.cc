#include "probes/kernel_log.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using probes::MatchKernelLine;
using probes::ParseKernelRecord;

TEST(ParseKernelRecord, ReadsTimeAndText) {
  // Documentation/ABI/testing/dev-kmsg of the Linux kernel, its own example.
  const auto record = ParseKernelRecord(
      "7,160,424069,-;pci_root PNP0A03:00: host bridge window [io  0x0000-0x0cf7] (ignored)\n"
      " SUBSYSTEM=acpi\n DEVICE=+acpi:PNP0A03:00\n");
  ASSERT_TRUE(record);
  EXPECT_EQ(record->at_us, 424069);
  EXPECT_EQ(record->text, "pci_root PNP0A03:00: host bridge window [io  0x0000-0x0cf7] (ignored)");
}

TEST(ParseKernelRecord, TakesFieldsThatLaterKernelsAdd) {
  const auto record = ParseKernelRecord("4,1,99,-,caller=T1,more;text;with semicolon\n");
  ASSERT_TRUE(record);
  EXPECT_EQ(record->text, "text;with semicolon");
}

TEST(ParseKernelRecord, RefusesWhatIsNone) {
  for (const char* text : {"", ";", "no semicolon", "1,2;text", "1,2,x,-;text", "1,2,,-;text"}) {
    EXPECT_FALSE(ParseKernelRecord(text)) << text;
  }
}

TEST(MatchKernelLine, NamesCauseAndSource) {
  const auto match = MatchKernelLine("usb 2-1.4: Not enough bandwidth for new device state.");
  ASSERT_TRUE(match);
  EXPECT_EQ(match->cause, "usb-bus-shared");
  EXPECT_EQ(match->weight, "serious");
  EXPECT_EQ(match->source, "drivers/usb/host/xhci.c");
}

TEST(MatchKernelLine, LeavesOrdinaryLinesAlone) {
  EXPECT_FALSE(MatchKernelLine(""));
  EXPECT_FALSE(MatchKernelLine("EXT4-fs (vda1): mounted filesystem with ordered data mode"));
}

TEST(MatchKernelLine, HostileTextIsShownSafelyAndCut) {
  const auto match =
      MatchKernelLine("USB disconnect, device number 7\x1b[2J" + std::string(1'000'000, 'x'));
  ASSERT_TRUE(match);
  EXPECT_EQ(match->text.find('\x1b'), std::string::npos);
  EXPECT_LE(match->text.size(), 310U);
}

}  // namespace
