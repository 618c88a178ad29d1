// SPDX-License-Identifier: Apache-2.0

#include "probes/line/kernel_log.h"

#include <cerrno>
#include <cstdint>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using probes::KernelLog;
using probes::KernelLogRead;
using probes::MatchKernelLine;
using probes::ParseKernelRecord;
using probes::ReadKernelLog;
using testing::HasSubstr;
using testing::SizeIs;

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

constexpr const char* kRecord = "4,1,3500000,-;usb 2-1.4: USB disconnect, device number 7\n";

/// Plays reads one after another, then says that there is no more.
KernelLog Played(const std::vector<KernelLogRead>& reads) {
  std::size_t at = 0;
  return ReadKernelLog(
      [&] {
        return at < reads.size() ? reads[at++] : KernelLogRead{EAGAIN, {}};
      },
      1'000'000);
}

TEST(ReadKernelLog, MatchesAndCountsAllLines) {
  const KernelLog log = Played({{0, "6,0,1000001,-;a line\n"}, {EINTR, {}}, {0, kRecord}});
  EXPECT_EQ(log.lines_read, base::Reading<std::int64_t>(2));
  ASSERT_THAT(log.matches, SizeIs(1));
  EXPECT_DOUBLE_EQ(log.matches[0].at_s, 2.5);
}

// Documentation/ABI/testing/dev-kmsg: EPIPE where the next record was overwritten.
TEST(ReadKernelLog, GoesOnAfterLinesThatWereWrittenOver) {
  const KernelLog log = Played({{0, kRecord}, {EPIPE, {}}, {0, kRecord}});
  EXPECT_EQ(log.lines_read, base::Reading<std::int64_t>(2));
  EXPECT_THAT(log.matches, SizeIs(2));
}

TEST(ReadKernelLog, SaysWhyItMayNotBeRead) {
  EXPECT_EQ(Played({{EPERM, {}}}).lines_read.why_unknown(), "Operation not permitted");
}

TEST(ReadKernelLog, EndsThoughTheLogDoesNot) {
  const auto read_of = [](const KernelLogRead& endless) {
    std::size_t reads = 0;
    KernelLog log = ReadKernelLog(
        [&] {
          ++reads;
          return endless;
        },
        0, 1000);
    EXPECT_EQ(reads, 1000U);
    return log;
  };
  const KernelLog full = read_of({0, kRecord});
  EXPECT_EQ(full.lines_read, base::Reading<std::int64_t>(1000));
  EXPECT_THAT(full.matches, SizeIs(200));
  EXPECT_THAT(read_of({EPIPE, {}}).lines_read.why_unknown(), HasSubstr("Broken pipe"));
}

}  // namespace
