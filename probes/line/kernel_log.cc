// SPDX-License-Identifier: Apache-2.0

#include "probes/line/kernel_log.h"

#include <array>
#include <cerrno>
#include <regex>
#include <system_error>
#include <utility>
#include <vector>

#include "base/text.h"

namespace probes {
namespace {

// Longer than any line of the kernel's (1,024 bytes); std::regex recurses on long text.
constexpr std::size_t kLongestLine = 1100;
constexpr std::size_t kMostMatches = 200;

const std::vector<std::regex>& Patterns() {
  static const std::vector<std::regex> patterns = [] {
    std::vector<std::regex> made;
    for (const KernelSignature& signature : KernelSignatures()) {
      made.emplace_back(signature.pattern, std::regex::ECMAScript | std::regex::optimize);
    }
    return made;
  }();
  return patterns;
}

void TakeRecord(std::string_view text, std::int64_t began_us, KernelLog& log) {
  if (log.matches.size() >= kMostMatches) {
    return;
  }
  const auto record = ParseKernelRecord(text);
  if (auto match = record ? MatchKernelLine(record->text) : std::nullopt) {
    match->at_s = static_cast<double>(record->at_us - began_us) / 1e6;
    log.matches.push_back(*std::move(match));
  }
}

}  // namespace

std::optional<KernelLogLine> MatchKernelLine(std::string_view text) {
  const std::string line(text.substr(0, kLongestLine));
  const std::vector<std::regex>& patterns = Patterns();
  for (std::size_t i = 0; i < patterns.size(); ++i) {
    if (std::regex_search(line, patterns[i])) {
      const KernelSignature& signature = KernelSignatures()[i];
      KernelLogLine match;
      match.text = base::Printable(line, 300);
      match.cause = signature.cause;
      match.meaning = signature.meaning;
      match.weight = signature.weight;
      match.source = signature.source;
      return match;
    }
  }
  return std::nullopt;
}

std::optional<KernelRecord> ParseKernelRecord(std::string_view record) {
  const std::size_t semicolon = record.find(';');
  if (semicolon == std::string_view::npos) {
    return std::nullopt;
  }
  const std::vector<std::string_view> fields = base::Split(record.substr(0, semicolon), ',');
  constexpr std::size_t kTimeField = 2;
  if (fields.size() <= kTimeField) {
    return std::nullopt;
  }
  const auto at_us = base::ParseInt(fields[kTimeField]);
  if (!at_us) {
    return std::nullopt;
  }
  std::string_view text = record.substr(semicolon + 1);
  text = text.substr(0, text.find('\n'));  // what follows is a dictionary of the device
  return KernelRecord{*at_us, std::string(text)};
}

KernelLog ReadKernelLog(const std::function<KernelLogRead()>& read, std::int64_t began_us,
                        std::size_t most_reads) {
  using Lines = base::Reading<std::int64_t>;
  KernelLog log;
  std::int64_t lines = 0;
  int error = 0;
  // EPIPE: the oldest were written over, the next read goes on with what is left.
  for (std::size_t i = 0; i < most_reads && (error == 0 || error == EPIPE || error == EINTR); ++i) {
    const KernelLogRead got = read();
    error = got.error;
    if (error == 0) {
      ++lines;
      TakeRecord(got.record, began_us, log);
    }
  }
  if (error == 0 || error == EAGAIN || (lines > 0 && (error == EPIPE || error == EINTR))) {
    log.lines_read = lines;
  } else {
    log.lines_read = Lines::Unknown(std::generic_category().message(error));
  }
  return log;
}

namespace {

// Texts looked up in the sources of Linux 6.12 (most are the same in 6.1): USB, its controllers and
// video driver, PCI Express, and what holds up a whole PC. Lines of debug level come only when
// somebody switched them on: their absence proves nothing.
constexpr auto kSignatures = std::to_array<KernelSignature>({
    {R"(Non-zero status \(-?[0-9]+\) in video completion handler)",
     "drivers/media/usb/uvc/uvc_video.c",
     "A whole video USB request failed; the driver then cancels the queued video buffers",
     "usb-errors", "serious"},
    {R"(USB isochronous frame lost \(-?[0-9]+\))", "drivers/media/usb/uvc/uvc_video.c",
     "One isochronous packet was lost; picture is marked bad. Only printed when uvcvideo trace bit "
     "7 (0x80) is set",
     "usb-errors", "warning"},
    {R"(Marking buffer as bad \(error bit set\))", "drivers/media/usb/uvc/uvc_video.c",
     "The camera itself flagged a payload error. Only with trace bit 7", "usb-errors", "warning"},
    {R"(Dropping payload \(out of sync\))", "drivers/media/usb/uvc/uvc_video.c",
     "Payload thrown away until the next picture starts. Only with trace bit 7", "usb-errors",
     "warning"},
    {R"(Frame complete \(overflow\))", "drivers/media/usb/uvc/uvc_video.c",
     "More bytes than one picture holds: end-of-picture mark was lost. Only with trace bit 7",
     "usb-errors", "warning"},
    {R"(Failed to (re)?submit (video )?URB)", "drivers/media/usb/uvc/uvc_video.c",
     "The driver could not hand the next request to the USB controller", "usb-errors", "serious"},
    {R"(No fast enough alt setting for requested bandwidth)", "drivers/media/usb/uvc/uvc_video.c",
     "Camera asks for more bandwidth than any of its settings at this link speed offers. Only with "
     "trace bit 10",
     "usb-link-fell-back", "serious"},
    {R"(Failed to (query|set) (\([0-9A-Z_]+\) )?UVC (probe|commit|control))",
     "drivers/media/usb/uvc/uvc_video.c",
     "Camera did not answer a control request; often follows link errors or a hung camera",
     "usb-errors", "warning"},
    {R"(usb [0-9.-]+: new high-speed USB device number [0-9]+ using xhci)",
     "drivers/usb/core/hub.c",
     "Device came up at 480 Mb/s. A fault only if the device reports it can do 5 Gb/s (bcdUSB 3.x "
     "companion / BOS)",
     "usb-link-fell-back", "note"},
    {R"(usb [0-9.-]+: new full-speed USB device number [0-9]+ using)", "drivers/usb/core/hub.c",
     "Device came up at 12 Mb/s; for a camera this means the high-speed handshake failed",
     "usb-link-fell-back", "warning"},
    {R"(usb [0-9.-]+: new SuperSpeed( Plus)?( Gen [0-9x]+)? USB device number [0-9]+)",
     "drivers/usb/core/hub.c",
     "Device came up at 5 Gb/s or more (the good case; repeated lines mean re-connection)",
     "usb-link-fell-back", "note"},
    {R"(usb [0-9.-]+: reset (low|full|high)-speed USB device number)", "drivers/usb/core/hub.c",
     "Device was reset while in use", "usb-errors", "serious"},
    {R"(usb [0-9.-]+: reset SuperSpeed( Plus)?( Gen [0-9x]+)? USB device number)",
     "drivers/usb/core/hub.c", "Device was reset while in use", "usb-errors", "serious"},
    {R"(USB disconnect, device number [0-9]+)", "drivers/usb/core/hub.c",
     "Device left the bus (cable, power, firmware restart)", "usb-errors", "fatal"},
    {R"(device descriptor read/(8|64|all), error -[0-9]+)", "drivers/usb/core/hub.c",
     "Device did not answer at enumeration: -71 protocol error, -110 timeout, -32 stall",
     "usb-errors", "serious"},
    {R"(device not accepting address [0-9]+, error -[0-9]+)", "drivers/usb/core/hub.c",
     "Enumeration failed at the address step", "usb-errors", "serious"},
    {R"(unable to enumerate USB device)", "drivers/usb/core/hub.c", "Kernel gave up on this port",
     "usb-errors", "fatal"},
    {R"(Cannot enable\. Maybe the USB cable is bad\?)", "drivers/usb/core/hub.c",
     "Port would not enable; kernel itself suspects the cable", "usb-errors", "serious"},
    {R"(disabled by hub \(EMI\?\), re-enabling)", "drivers/usb/core/hub.c",
     "Hub shut the port after electrical trouble", "usb-errors", "serious"},
    {R"(over-current condition)", "drivers/usb/core/hub.c", "Port or hub power limit exceeded",
     "usb-errors", "serious"},
    {R"(not running at top speed; connect to a high speed hub)", "drivers/usb/core/hub.c",
     "A 480 Mb/s device is running at 12 Mb/s", "usb-link-fell-back", "serious"},
    {R"(attempt power cycle)", "drivers/usb/core/hub.c",
     "Hub driver power-cycles a port that will not enumerate", "usb-errors", "serious"},
    {R"([0-9]+mA (is )?over (power|[0-9]+uA) budget)", "drivers/usb/core/hub.c",
     "Devices on this bus ask for more current than it can give", "usb-errors", "warning"},
    {R"(insufficient power available to use all downstream ports)", "drivers/usb/core/hub.c",
     "Bus-powered hub is short of power", "usb-errors", "warning"},
    {R"(connect-debounce failed)", "drivers/usb/core/hub.c", "Contact at the connector is unstable",
     "usb-errors", "warning"},
    {R"(usb_reset_and_verify_device|root hub lost power or was reset)", "drivers/usb/core/hub.c",
     "Controller lost power over sleep; streams end", "usb-autosuspend", "warning"},
    {R"((Enable|Disable) of device-initiated U[12] failed)", "drivers/usb/core/hub.c",
     "USB 3 link power saving could not be set", "usb-autosuspend", "note"},
    {R"(HC died; cleaning up)", "drivers/usb/core/hcd.c",
     "The whole USB controller stopped; every device on it is lost", "usb-errors", "fatal"},
    {R"(Not enough bandwidth for new device state)", "drivers/usb/host/xhci.c",
     "Controller refused a new stream: periodic bandwidth is used up (user space sees ENOSPC)",
     "usb-bus-shared", "serious"},
    {R"(Not enough host controller resources for new device state)", "drivers/usb/host/xhci.c",
     "Controller ran out of endpoint slots", "usb-bus-shared", "serious"},
    {R"(Not enough bandwidth\. Proposed: [0-9]+, Max: [0-9]+)", "drivers/usb/host/xhci.c",
     "Software bandwidth check failed (controllers that need it)", "usb-bus-shared", "serious"},
    {R"(Not enough bandwidth on HS bus for newly activated TT)", "drivers/usb/host/xhci.c",
     "Slow device behind a fast hub does not fit", "usb-bus-shared", "serious"},
    {R"(bandwidth overrun event for slot [0-9]+ ep [0-9]+)", "drivers/usb/host/xhci-ring.c",
     "Isochronous traffic went over its reserved share", "usb-bus-shared", "serious"},
    {R"(buffer overrun event for slot [0-9]+ ep [0-9]+)", "drivers/usb/host/xhci-ring.c",
     "Device sent more than the buffer holds", "usb-errors", "warning"},
    {R"(HC couldn't access mem fast enough for slot [0-9]+ ep [0-9]+)",
     "drivers/usb/host/xhci-ring.c",
     "Controller lost the race to main memory (PCIe or memory contention)", "pcie-link-reduced",
     "serious"},
    {R"(Miss service interval error for slot [0-9]+ ep [0-9]+)", "drivers/usb/host/xhci-ring.c",
     "One or more isochronous intervals were skipped (debug level only; enable dynamic debug)",
     "irq-softirq-load", "warning"},
    {R"(Transfer error for slot [0-9]+ ep [0-9]+ on endpoint)", "drivers/usb/host/xhci-ring.c",
     "Bus-level transfer error (debug level only)", "usb-errors", "warning"},
    {R"((([Uu]nder|[Oo]ver)run event on (slot [0-9]+ ep [0-9]+|endpoint))|(([Uu]nder|[Oo]ver)run Event for slot [0-9]+ ep [0-9]+))",
     "drivers/usb/host/xhci-ring.c",
     "No request was queued in time for an isochronous endpoint (debug level only): driver or CPU "
     "late",
     "irq-softirq-load", "warning"},
    {R"(Event TRB for slot [0-9]+ ep [0-9]+ with no TDs queued)", "drivers/usb/host/xhci-ring.c",
     "Controller reported a transfer nobody waits for; seen around stream stop and with some "
     "controllers",
     "usb-errors", "note"},
    {R"(xHCI host not responding to stop endpoint command)", "drivers/usb/host/xhci-ring.c",
     "Controller hang, normally followed by its death", "usb-errors", "fatal"},
    {R"(xHCI host controller not responding, assume dead)", "drivers/usb/host/xhci-ring.c",
     "Controller declared dead", "usb-errors", "fatal"},
    {R"(WARNING: Host (System|Controller) Error)", "drivers/usb/host/xhci-ring.c",
     "Controller hit a bus or internal error", "usb-errors", "fatal"},
    {R"([0-9.]+ Gb/s available PCIe bandwidth, limited by .* x[0-9]+ link at)", "drivers/pci/pci.c",
     "Card sits on a slower or narrower link than it can use", "pcie-link-reduced", "warning"},
    {R"(PCIe Bus Error: severity=Correct(ed|able))", "drivers/pci/pcie/aer.c",
     "Link errors repaired by retry; a stream of these costs bandwidth", "pcie-link-reduced",
     "warning"},
    {R"(PCIe Bus Error: severity=Uncorrect(ed|able))", "drivers/pci/pcie/aer.c",
     "Link error that could not be repaired", "pcie-link-reduced", "fatal"},
    {R"(retraining (failed|non-functional downstream link))", "drivers/pci/quirks.c",
     "Link did not come up properly", "pcie-link-reduced", "serious"},
    {R"(Slot\([^)]*\): Link Down)", "drivers/pci/hotplug/pciehp_ctrl.c",
     "Hot-plug PCIe device (for example a dock) dropped off", "pcie-link-reduced", "fatal"},
    {R"((Core|Package) temperature (is )?above threshold, cpu clock (is )?throttled \(total events = [0-9]+\))",
     "drivers/thermal/intel/therm_throt.c", "CPU hit its thermal limit and was slowed",
     "thermal-power-throttle", "serious"},
    {R"((Core|Package) temperature/speed normal \(total events = [0-9]+\))",
     "drivers/thermal/intel/therm_throt.c", "End of a thermal slow-down", "thermal-power-throttle",
     "note"},
    {R"(critical temperature reached)", "drivers/thermal/thermal_core.c",
     "A thermal zone hit its shutdown point", "thermal-power-throttle", "fatal"},
    {R"(BUG: soft lockup - CPU#[0-9]+ stuck for [0-9]+s)", "kernel/watchdog.c",
     "Kernel code held a CPU (2 x watchdog_thresh = 20 s); in a guest also host stall",
     "kernel-or-driver-stall", "fatal"},
    {R"([Hh]ard LOCKUP on cpu [0-9]+)", "kernel/watchdog.c", "CPU did not take interrupts",
     "kernel-or-driver-stall", "fatal"},
    {R"(INFO: rcu[a-z_]* (self-detected stall on CPU|detected stalls on CPUs/tasks))",
     "kernel/rcu/tree_stall.h", "CPU held too long in kernel or by host", "kernel-or-driver-stall",
     "serious"},
    {R"(sched: RT throttling activated)", "kernel/sched/rt.c",
     "Real-time threads used up their share (printed once per boot)", "one-thread-hot", "warning"},
    {R"(workqueue: .* hogged CPU for >[0-9]+us [0-9]+ times)", "kernel/workqueue.c",
     "A driver work item ran too long", "irq-softirq-load", "warning"},
    {R"(hrtimer: interrupt took [0-9]+ ns)", "kernel/time/hrtimer.c",
     "Timer interrupt ran long (once per boot); also seen with host steal", "irq-softirq-load",
     "warning"},
    {R"(perf: interrupt took too long \([0-9]+ > [0-9]+\), lowering)", "kernel/events/core.c",
     "Sampling interrupt slow: profiler load or slow CPU state", "irq-softirq-load", "note"},
    {R"(irq [0-9]+: nobody cared)", "kernel/irq/spurious.c",
     "Interrupt storm; line is then switched off and polled", "irq-softirq-load", "serious"},
    {R"(Disabling IRQ #[0-9]+)", "kernel/irq/spurious.c",
     "Interrupt line switched off: device runs on slow polling", "irq-softirq-load", "serious"},
    {R"(timekeeping watchdog on CPU[0-9]+: Marking clocksource '[^']+' as unstable because the skew is too large)",
     "kernel/time/clocksource.c", "System clock source is bad; timestamps drift or jump",
     "clock-drift-av", "serious"},
    {R"(timekeeping watchdog on CPU[0-9]+: .*(excessive )?read-back delay of [0-9]+ns.*unstable)",
     "kernel/time/clocksource.c", "Clock check delayed by host or firmware", "hypervisor-steal",
     "warning"},
    {R"(Marking TSC unstable due to)", "arch/x86/kernel/tsc.c",
     "CPU time counter rejected; slower clock used", "clock-drift-av", "warning"},
    {R"((Out of memory|Memory cgroup out of memory): Killed process [0-9]+)", "mm/oom_kill.c",
     "Kernel killed a process for lack of memory", "memory-pressure", "fatal"},
    {R"(invoked oom-killer: gfp_mask=)", "mm/oom_kill.c", "Memory ran out", "memory-pressure",
     "fatal"},
    {R"(page allocation failure: order:[0-9]+)", "mm/page_alloc.c",
     "Kernel could not get (often contiguous) memory; drivers drop work", "memory-pressure",
     "warning"},
});

}  // namespace

std::span<const KernelSignature> KernelSignatures() {
  return kSignatures;
}

}  // namespace probes
