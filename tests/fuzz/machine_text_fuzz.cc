// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: every text of a machine, each parser by itself. The first byte chooses one.

#include <array>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "base/ip_address.h"
#include "base/rational.h"
#include "base/text.h"
#include "probes/board/board.h"
#include "probes/captured/private_names.h"
#include "probes/cpu/cgroup.h"
#include "probes/cpu/topology.h"
#include "probes/line/captured_modes.h"
#include "probes/line/kernel_log.h"
#include "probes/network/routes.h"
#include "probes/pci_gpu/display.h"
#include "probes/pci_gpu/pci.h"
#include "probes/procfs/mount_table.h"
#include "probes/procfs/process_texts.h"
#include "probes/procfs/system_texts.h"
#include "probes/settings/setting_texts.h"
#include "probes/settings/unit_files.h"
#include "probes/settings/work_timers.h"
#include "probes/storage/captured_space.h"
#include "probes/storage/swap_areas.h"
#include "probes/usb/ports.h"
#include "probes/usb/tree.h"

namespace {

using Text = std::string_view;

void Require(bool holds) {
  if (!holds) {
    std::abort();
  }
}

void TakeCpuList(Text text) {
  const auto list = probes::ParseCpuList(text);
  Require(!list || list->size() <= 1 << 20);
}

void TakeDisks(Text text) {
  std::vector<probes::DiskCounters> disks;
  probes::ParseDisks(text, disks);
  Require(disks.size() <= text.size());
}

void TakeLinks(Text text) {
  std::vector<probes::LinkCounters> links;
  probes::ParseLinks(text, links);
  Require(links.size() <= text.size());
}

/// What is written of them again reads alike.
void TakeDriverModes(Text text) {
  probes::UsbInventory usb;
  usb.devices.resize(1);
  probes::UsbDevice& camera = usb.devices.front();
  camera.path = "1-1";
  camera.role = probes::UsbRole::kCapture;
  camera.video_nodes = {"video0"};
  probes::AddCapturedModes(text, usb);
  const probes::UsbDevice before = camera;
  for (const probes::CaptureMode& mode : before.driver_modes.value_or({})) {
    Require(mode.width > 0 && mode.height > 0 && !mode.intervals_100ns.empty());
  }
  const std::string written = probes::CapturedModesText(usb);
  probes::AddCapturedModes(written, usb);
  Require(probes::CapturedModesText(usb) == written &&
          camera.driver_modes.known() == before.driver_modes.known());
}

/// What is shown to people holds no control characters and is no longer than asked.
void TakePrintable(Text text) {
  for (const char c : base::Printable(std::string(text))) {
    Require(c == '\t' || static_cast<unsigned char>(c) >= 0x20);
  }
}

template <auto parse>
void Try(Text text) {
  static_cast<void>(parse(text));
}

using Parser = void (*)(Text);

constexpr std::array<Parser, 39> kParsers{
    Try<probes::ParseMountInfo>,
    Try<probes::ParseCapturedSpace>,
    TakeCpuList,
    [](Text text) { probes::ParseSection(text, "Timer"); },
    Try<probes::ParsePrettyName>,
    Try<probes::ParseBracketed>,
    Try<probes::ParseRoutes>,
    Try<probes::ParseSwaps>,
    Try<probes::ParseFirstMode>,
    [](Text text) { probes::ParseAptPeriodic(text, "Update-Package-Lists"); },
    Try<probes::ParseMemInfo>,
    Try<probes::ParseCpuInfo>,
    Try<probes::ParseStatTicks>,
    Try<probes::ParseProcessTicks>,
    Try<probes::ParsePressureTotalUs>,
    Try<probes::ParsePortName>,
    Try<probes::ParseUsbPath>,
    Try<probes::ParseUsbSpeed>,
    Try<probes::ParseLinkSpeed>,
    Try<probes::ParseLinkWidth>,
    Try<probes::ParseCpuMax>,
    Try<probes::ParseQuotaUse>,
    Try<probes::ParseKernelRecord>,
    Try<probes::ParsePeople>,
    Try<probes::ParseProcessIo>,
    Try<probes::ParseResidentPages>,
    Try<probes::ParseVmStat>,
    Try<probes::ParseLimitHits>,
    Try<probes::ParseProtocols>,
    Try<probes::ParseThreadTimes>,
    TakeDisks,
    TakeLinks,
    Try<probes::ParseOpenFile>,
    Try<probes::ParseSystemCall>,
    Try<probes::ParseDrmClient>,
    Try<base::ParseIpAddress>,
    TakePrintable,
    TakeDriverModes,
    Try<probes::ParseUdevMemory>,
};

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size > 0) {
    const Text text(reinterpret_cast<const char*>(data + 1), size - 1);
    kParsers.at(data[0] % kParsers.size())(text);
  }
  return 0;
}
