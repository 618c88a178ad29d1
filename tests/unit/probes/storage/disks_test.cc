// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/disks.h"

#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/audio/sound.h"
#include "probes/storage/disk_health.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::Reading;
using probes::DiskHealth;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

void PutLittle(std::string& bytes, std::size_t at, std::uint64_t value, std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) {
    bytes[at + i] = static_cast<char>(value >> (8 * i));
  }
}

// NVM Express Base Specification 2.0, figure 207: offsets of the health log.
TEST(ParseNvmeHealth, ReadsTheLog) {
  std::string log(512, '\0');
  PutLittle(log, 1, 310, 2);    // Composite Temperature, kelvin
  PutLittle(log, 3, 100, 1);    // Available Spare
  PutLittle(log, 5, 7, 1);      // Percentage Used
  PutLittle(log, 48, 2000, 8);  // Data Units Written, 1000 times 512 bytes each
  PutLittle(log, 128, 1234, 8);
  PutLittle(log, 160, 3, 8);
  const DiskHealth health = probes::ParseNvmeHealth(log);
  EXPECT_EQ(health.sound, Reading<bool>(true));
  EXPECT_NEAR(*health.temperature_c, 36.85, 1e-9);
  EXPECT_EQ(health.spare_percent, Reading<int>(100));
  EXPECT_EQ(health.wear_percent, Reading<int>(7));
  EXPECT_EQ(health.written_bytes, Reading<std::int64_t>(1'024'000'000));
  EXPECT_EQ(health.powered_hours, Reading<std::int64_t>(1234));
  EXPECT_EQ(health.media_errors, Reading<std::int64_t>(3));
}

TEST(ParseNvmeHealth, AWarningOtherThanHeatIsAFailureAhead) {
  std::string log(512, '\0');
  log[0] = 0x02;  // temperature
  EXPECT_EQ(probes::ParseNvmeHealth(log).sound, Reading<bool>(true));
  for (const int bit : {0x01, 0x04, 0x08, 0x10}) {
    log[0] = static_cast<char>(bit);
    EXPECT_EQ(probes::ParseNvmeHealth(log).sound, Reading<bool>(false)) << bit;
  }
}

TEST(ParseNvmeHealth, TakesAnyBytes) {
  for (std::size_t length = 0; length < 512; ++length) {
    EXPECT_FALSE(probes::ParseNvmeHealth(std::string(length, '\xff')).wear_percent.known());
  }
  const DiskHealth health = probes::ParseNvmeHealth(std::string(512, '\xff'));
  EXPECT_FALSE(health.written_bytes.known());
  EXPECT_FALSE(health.powered_hours.known());
  EXPECT_FALSE(health.temperature_c.known());
  EXPECT_FALSE(probes::ParseNvmeHealth(std::string(512, '\0')).temperature_c.known());
}

std::string AtaPage(int number) {
  std::string page(512, '\0');
  page[0] = 1;
  page[2] = static_cast<char>(number);
  return page;
}

void PutStatistic(std::string& page, std::size_t at, std::uint64_t value, int flags = 0xc0) {
  PutLittle(page, at, value, 7);
  page[at + 7] = static_cast<char>(flags);
}

// ACS-4, 9.5: pages of the device statistics log; bit 63 supported, bit 62 valid.
TEST(ParseAtaStatistics, ReadsValidStatisticsAlone) {
  std::string general = AtaPage(1);
  PutStatistic(general, 16, 8760);
  PutStatistic(general, 24, 1'000'000);
  std::string errors = AtaPage(4);
  PutStatistic(errors, 8, 2);
  std::string temperature = AtaPage(5);
  PutStatistic(temperature, 8, 0xfe);  // two degrees below zero
  std::string solid_state = AtaPage(7);
  PutStatistic(solid_state, 8, 12, 0x80);  // supported, not valid now
  const DiskHealth health =
      probes::ParseAtaStatistics({general, errors, temperature, solid_state, "", "short"});
  EXPECT_EQ(health.powered_hours, Reading<std::int64_t>(8760));
  EXPECT_EQ(health.written_bytes, Reading<std::int64_t>(512'000'000));
  EXPECT_EQ(health.media_errors, Reading<std::int64_t>(2));
  EXPECT_EQ(health.temperature_c, Reading<double>(-2));
  EXPECT_THAT(health.wear_percent.why_unknown(), HasSubstr("does not count"));
  PutStatistic(solid_state, 8, 12);
  EXPECT_EQ(probes::ParseAtaStatistics({solid_state}).wear_percent, Reading<int>(12));
}

// SCSI / ATA Translation 3, 12.2.2.8 (descriptor 09h); ACS-4, 7.46: C24Fh sound, 2CF4h a limit
// passed.
TEST(ParseAtaSound, ReadsTheRegistersInSenseData) {
  std::string sense("\x72\x01\0\x1d\0\0\0\x0e\x09\x0c\0\0\0\0\0\0\0\x4f\0\xc2\0\x50", 22);
  EXPECT_EQ(probes::ParseAtaSound(sense), Reading<bool>(true));
  EXPECT_EQ(probes::ParseAtaSound(sense + std::string(10, '\0')), Reading<bool>(true));
  EXPECT_FALSE(probes::ParseAtaSound(sense.substr(0, 21)).known());
  sense[17] = '\xf4';
  EXPECT_FALSE(probes::ParseAtaSound(sense).known());
  sense[19] = '\x2c';
  EXPECT_EQ(probes::ParseAtaSound(sense), Reading<bool>(false));
  sense[0] = '\x70';
  EXPECT_FALSE(probes::ParseAtaSound(sense).known());
  EXPECT_FALSE(probes::ParseAtaSound("").known());
}

// JEDEC JESD84-B51, DEVICE_LIFE_TIME_EST: 0x01 is up to a tenth of its life, 0x0b past it.
TEST(ParseMmcLife, TakesTheWorseOfBoth) {
  EXPECT_EQ(probes::ParseMmcLife("0x01 0x03\n"), 30);
  EXPECT_EQ(probes::ParseMmcLife("0x0b 0x00"), 110);
  EXPECT_EQ(probes::ParseMmcLife("0x00 0x00"), std::nullopt);
  EXPECT_EQ(probes::ParseMmcLife("0xff junk"), std::nullopt);
}

TEST(CapturedHealth, ComesBackAsItWas) {
  DiskHealth health = probes::UnknownHealth("made");
  health.sound = false;
  health.temperature_c = 41.5;
  health.wear_percent = 130;
  health.written_bytes = std::int64_t{123456789012};
  const std::string lines =
      probes::CapturedHealthLine("sda", health) + "junk\nsdb wear_percent=x sound\n";
  const DiskHealth back = probes::FindCapturedHealth(lines, "sda");
  EXPECT_EQ(back.sound, health.sound);
  EXPECT_EQ(back.temperature_c, health.temperature_c);
  EXPECT_EQ(back.wear_percent, health.wear_percent);
  EXPECT_EQ(back.written_bytes, health.written_bytes);
  EXPECT_THAT(back.media_errors.why_unknown(), HasSubstr("when the machine was captured"));
  EXPECT_FALSE(probes::FindCapturedHealth(lines, "sdb").wear_percent.known());
  for (const char* line : {"sda temperature_c=1e300", "sda temperature_c=-2000",
                           "sda temperature_c=nan", "sda temperature_c=inf"}) {
    EXPECT_FALSE(probes::FindCapturedHealth(line, "sda").temperature_c.known()) << line;
  }
}

TEST(ReadDisks, ListsEveryDiskAndNothingAboveThem) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(probes::ReadDisks(machine.root()).present.known());
  machine.Folder("sys/class/block");
  EXPECT_EQ(probes::ReadDisks(machine.root()).present, Reading<bool>(false));
  const std::string ata = "sys/devices/pci0000:00/0000:00:17.0/ata1/host0/target0:0:0/0:0:0:0";
  machine.File(ata + "/block/sda/size", "2000\n");
  machine.File(ata + "/block/sda/removable", "0\n");
  machine.File(ata + "/model", "Example disk\n");
  machine.File(ata + "/hwmon/hwmon2/temp1_input", "38500\n");
  machine.Link(ata + "/block/sda/device", ata);
  machine.File(ata + "/block/sda/sda1/partition", "1\n");
  const std::string nvme = "sys/devices/pci0000:00/0000:01:00.0/nvme/nvme0";
  machine.File(nvme + "/nvme0n1/size", "4000\n");
  machine.File(nvme + "/transport", "pcie\n");
  machine.File(nvme + "/hwmon1/temp1_input", "45850\n");
  machine.Link(nvme + "/nvme0n1/device", nvme);
  machine.File(nvme + "/nvme0c0n1/hidden", "1\n");
  machine.Folder(ata + "/block/sr0");
  machine.Folder("sys/devices/virtual/block/loop0");
  machine.Link("sys/class/block/sda", ata + "/block/sda");
  machine.Link("sys/class/block/sda1", ata + "/block/sda/sda1");
  machine.Link("sys/class/block/nvme0n1", nvme + "/nvme0n1");
  machine.Link("sys/class/block/nvme0c0n1", nvme + "/nvme0c0n1");
  machine.Link("sys/class/block/sr0", ata + "/block/sr0");
  machine.Link("sys/class/block/loop0", "sys/devices/virtual/block/loop0");
  machine.File("captured/disks", "nvme0n1 sound=1 wear_percent=3 temperature_c=40\n");
  const auto found = probes::ReadDisks(machine.root());
  ASSERT_THAT(found.disks, SizeIs(2));
  EXPECT_EQ(found.disks[0].device.name, "nvme0n1");
  EXPECT_EQ(found.disks[0].health.wear_percent, Reading<int>(3));
  EXPECT_EQ(found.disks[0].health.temperature_c, Reading<double>(45.85));
  EXPECT_EQ(found.disks[1].device.name, "sda");
  EXPECT_EQ(found.disks[1].device.model, "Example disk");
  EXPECT_EQ(found.disks[1].health.temperature_c, Reading<double>(38.5));
  EXPECT_FALSE(found.disks[1].health.wear_percent.known());
}

// Layout of /proc/asound/cards: sound/core/init.c, snd_card_info_read().
TEST(ReadSound, CountsStreamsAndFindsWhereCardsHang) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(probes::ReadSound(machine.root()).present.known());
  machine.File("proc/asound/cards",
               " 0 [Example        ]: USB-Audio - Example Mixer\n"
               "                      Example Mixer at usb-0000:00:14.0-1, high speed\n");
  const std::string card = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-1/1-1:1.0/sound/card0";
  machine.File(card + "/id", "Example\n");
  machine.Link("sys/class/sound/card0", card);
  machine.Folder("sys/class/sound/pcmC0D0p");
  machine.Folder("sys/class/sound/pcmC0D0c");
  machine.Folder("sys/class/sound/pcmC0D1c");
  machine.Folder("sys/class/sound/pcmCxD1c");
  machine.Folder("sys/class/sound/timer");
  const auto sound = probes::ReadSound(machine.root());
  EXPECT_EQ(sound.present, Reading<bool>(true));
  ASSERT_THAT(sound.cards, SizeIs(1));
  EXPECT_EQ(sound.cards[0].name, "Example Mixer");
  EXPECT_EQ(sound.cards[0].inputs, 2);
  EXPECT_EQ(sound.cards[0].outputs, 1);
  EXPECT_EQ(sound.cards[0].usb_path, "1-1");
}

}  // namespace
