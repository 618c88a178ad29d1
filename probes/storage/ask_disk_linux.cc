// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/ask_disk.h"

#include <fcntl.h>
#include <linux/nvme_ioctl.h>
#include <sys/ioctl.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstdint>
#include <optional>
#include <system_error>
#include <utility>
#include <vector>

#include <scsi/sg.h>

#include "base/reading.h"
#include "base/result.h"
#include "base/system/answer_within.h"
#include "base/system/descriptor.h"
#include "probes/storage/disk_health.h"

namespace probes {
namespace {

constexpr std::chrono::seconds kLongestAnswer{5};
constexpr unsigned kCommandMs = 2000;
constexpr std::size_t kPageBytes = 512;

base::Error FromErrno(const std::string& what) {
  const int number = errno;
  const bool denied = number == EACCES || number == EPERM;
  return {denied ? base::ErrorKind::kDenied : base::ErrorKind::kIo, what,
          denied ? "only root may ask it" : std::generic_category().message(number)};
}

/// Get Log Page 02h of the whole controller (NVM Express Base Specification 2.0, 5.16).
base::Result<DiskHealth> AskNvme(int file, const std::string& node) {
  constexpr std::uint8_t kGetLogPage = 0x02;
  constexpr std::uint32_t kHealthLog = 0x02;
  std::string log(kPageBytes, '\0');
  nvme_admin_cmd command{};
  command.opcode = kGetLogPage;
  command.nsid = 0xffffffff;
  command.addr = reinterpret_cast<std::uintptr_t>(log.data());
  command.data_len = kPageBytes;
  command.cdw10 = kHealthLog | static_cast<std::uint32_t>(kPageBytes / 4 - 1) << 16;
  command.timeout_ms = kCommandMs;
  const int status = ioctl(file, NVME_IOCTL_ADMIN_CMD, &command);
  if (status < 0) {
    return FromErrno(node);
  }
  if (status > 0) {
    return base::Error{base::ErrorKind::kUnsupported, node, "the disk refused to tell its health"};
  }
  return ParseNvmeHealth(log);
}

/// ATA PASS-THROUGH (16) of SCSI / ATA Translation 3: registers of an ATA command.
struct AtaCommand {
  std::uint8_t command = 0;
  std::uint8_t feature = 0;
  std::uint8_t lba_low = 0;
  std::uint8_t lba_mid = 0;
  std::uint8_t lba_high = 0;
  bool reads_page = false;  // 512 bytes come back; else the registers do
};

constexpr std::uint8_t kSenseBytes = 32;
using Sense = std::array<std::uint8_t, kSenseBytes>;

/// 0, or -1 with errno.
int SendAta(int file, const AtaCommand& command, std::string& page, Sense& sense) {
  constexpr std::uint8_t kPassThrough16 = 0x85;
  constexpr std::uint8_t kNoData = 3 << 1;
  constexpr std::uint8_t kPioIn = 4 << 1;
  constexpr std::uint8_t kExtended = 1;
  constexpr std::uint8_t kGiveRegisters = 0x20;
  constexpr std::uint8_t kOneBlockIn = 0x0e;  // from the device, in blocks, counted in SECTOR COUNT
  constexpr std::uint8_t kCommandBytes = 16;
  std::array<std::uint8_t, kCommandBytes> cdb{};
  cdb[0] = kPassThrough16;
  cdb[1] = command.reads_page ? kPioIn | kExtended : kNoData;
  cdb[2] = command.reads_page ? kOneBlockIn : kGiveRegisters;
  cdb[4] = command.feature;
  cdb[6] = command.reads_page ? 1 : 0;
  cdb[8] = command.lba_low;
  cdb[10] = command.lba_mid;
  cdb[12] = command.lba_high;
  cdb[14] = command.command;
  sg_io_hdr header{};
  header.interface_id = 'S';
  header.cmd_len = kCommandBytes;
  header.cmdp = cdb.data();
  header.mx_sb_len = kSenseBytes;
  header.sbp = sense.data();
  header.timeout = kCommandMs;
  header.dxfer_direction = command.reads_page ? SG_DXFER_FROM_DEV : SG_DXFER_NONE;
  if (command.reads_page) {
    page.assign(kPageBytes, '\0');
    header.dxferp = page.data();
    header.dxfer_len = kPageBytes;
  }
  if (ioctl(file, SG_IO, &header) < 0) {
    return -1;
  }
  const bool failed = header.host_status != 0 || (command.reads_page && header.status != 0);
  errno = EIO;
  return failed ? -1 : 0;
}

/// SMART RETURN STATUS: the registers say whether a limit is passed (ACS-4, 7.46).
base::Reading<bool> AskAtaSound(int file) {
  const AtaCommand command{0xb0, 0xda, 0, 0x4f, 0xc2, false};
  std::string none;
  Sense sense{};
  if (SendAta(file, command, none, sense) < 0) {
    return base::Reading<bool>::Unknown("the disk does not tell whether it is sound");
  }
  return ParseAtaSound({reinterpret_cast<const char*>(sense.data()), sense.size()});
}

base::Result<DiskHealth> AskAta(int file, const std::string& node) {
  std::vector<std::string> pages;
  for (const int number : kAtaPages) {
    const AtaCommand read_log{0x2f, 0, 0x04, static_cast<std::uint8_t>(number), 0, true};
    std::string page;
    Sense sense{};
    if (SendAta(file, read_log, page, sense) == 0) {
      pages.push_back(std::move(page));
    } else if (errno == EPERM || errno == EACCES) {
      return FromErrno(node);
    }
  }
  DiskHealth health = pages.empty() ? UnknownHealth("the disk keeps no statistics of itself")
                                    : ParseAtaStatistics(pages);
  health.sound = AskAtaSound(file);
  return health;
}

base::Result<DiskHealth> Ask(const std::string& node, bool nvme) {
  const base::Descriptor file(open(node.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC));
  if (!file.open()) {
    return FromErrno(node);
  }
  return nvme ? AskNvme(file.get(), node) : AskAta(file.get(), node);
}

}  // namespace

DiskHealth AskDiskHealth(const std::string& disk, const std::string& transport) {
  if (transport == "usb") {
    return UnknownHealth("disks behind USB are not asked: some bridges hang at the question");
  }
  const bool nvme = transport == "nvme";
  if (!nvme && transport != "sata") {
    return UnknownHealth("a disk of this kind has no health that could be asked for");
  }
  const std::string node = "/dev/" + disk;
  auto asked = base::AnswerWithin<base::Result<DiskHealth>>(
      kLongestAnswer, [node, nvme] { return Ask(node, nvme); });
  if (!asked) {
    return UnknownHealth(node + ": " + asked.error().detail);
  }
  return *asked ? **asked : UnknownHealth(asked->error().where + ": " + asked->error().detail);
}

}  // namespace probes
