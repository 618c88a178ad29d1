// SPDX-License-Identifier: Apache-2.0
//
// Time on USB buses.

#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/loads/subjects.h"
#include "report/loads/usb_booking.h"
#include "report/loads/usb_driver.h"
#include "report/loads/usb_others.h"
#include "report/rules/rules.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report::rules {
namespace {

constexpr double kFullSpeedReservableUs = 900;  // 90 % of a frame

std::string WhereBooked(const BusBooking& booking) {
  const probes::UsbDevice& device = *booking.link->device;
  if (device.physical_hub.empty() || booking.link->RootHub()) {
    return fmt::format("link {}", base::Printable(device.path, 40));
  }
  return fmt::format("link of hub {} (physical hub {})", base::Printable(device.path, 40),
                     base::Printable(device.physical_hub, 80));
}

}  // namespace

void BusRefusesStreams(const RuleInput& input, std::vector<Finding>& findings) {
  for (const BusBooking& booking : BookBuses(input.facts.links)) {
    if (!booking.Refuses()) {
      continue;
    }
    const bool ehci = booking.Ehci();
    Finding finding = NewFinding(ehci ? "usb-ehci-refuses" : "usb-no-bandwidth", Severity::kStop);
    finding.title =
        fmt::format("{} refuses the last camera: {} of every {} are needed and {} may be booked",
                    booking.Name(), FormatNeeded(booking.link->reserved.least_us, "us"),
                    booking.Frame(), FormatAvailable(booking.reservable_us(), "us"));
    finding.evidence = BookingLines(booking, input.facts.streams);
    finding.about = {SubjectOf(*booking.link)};
    AddSubjects(BookedCaptures(booking, input.facts.streams), finding.about);
    finding.evidence.push_back(fmt::format("{} at {}: {} us of {}", WhereBooked(booking),
                                           FormatLinkSpeed(booking.link->device->speed_mbps),
                                           booking.reservable_us(),
                                           FrameUs(booking.link->device->speed_mbps)));
    finding.evidence.emplace_back(
        "by what their pictures need; the system says \"No space left on device\" then, which is "
        "not about a disk, and a device that asks for less starts with fewer pictures");
    finding.action = ehci ? "Move a camera to another controller, or lower its raster or rate."
                          : "Move a camera to another port of the PC itself, or lower its raster "
                            "or rate.";
    findings.push_back(std::move(finding));
  }
}

void SettingTooSmall(const RuleInput& input, std::vector<Finding>& findings) {
  for (const UsbStream& stream : input.facts.streams) {
    const bool runs = WhyNoPictures(input.facts.machine().usb, *stream.device).empty();
    if (!runs || !stream.counted || !stream.shown.setting_too_small) {
      continue;
    }
    Finding finding = NewFinding("usb-setting-too-small", Severity::kStop);
    finding.title = fmt::format("No alternate setting of {} holds {}", DeviceLabel(*stream.device),
                                base::Printable(stream.shown.mode));
    finding.evidence.push_back(fmt::format(
        "{} needs {} bytes in each interval with their header; the largest setting has {}",
        base::Printable(stream.shown.source), stream.shown.payload_bytes, stream.most.bytes));
    finding.about = {SubjectOf(*stream.device), SourceSubject(stream.shown.source)};
    finding.evidence.push_back(fmt::format("port {}, {}", base::Printable(stream.device->path, 40),
                                           FormatLinkSpeed(stream.device->speed_mbps)));
    finding.evidence.emplace_back(
        "moving it to another port of that speed will not help; what shows is up to the device: it "
        "starts with "
        "fewer "
        "pictures than asked, or not at all (\"Input/output error\")");
    finding.action =
        "Ask the device for fewer pixels, a lower frame rate or a more compact pixel format, or "
        "use it "
        "at a faster link if it has one.";
    findings.push_back(std::move(finding));
  }
}

void TranslatorFull(const RuleInput& input, std::vector<Finding>& findings) {
  for (TranslatorLoad& load : LoadTranslators(input.facts.links)) {
    if (load.isochronous_us <= 0 || load.WorstUs() <= kFullSpeedReservableUs) {
      continue;
    }
    Finding finding = NewFinding("usb-translator-full", Severity::kWarn);
    const std::string where =
        load.port == 0 ? "hub " + DeviceLabel(*load.hub)
                       : fmt::format("port {} of hub {}", load.port, DeviceLabel(*load.hub));
    finding.title = fmt::format(
        "{} may not serve its full-speed devices all at once: up to {:.0f} us of each frame of "
        "1000 us, and {:.0f} may be held",
        Capitalised(where), load.WorstUs(), kFullSpeedReservableUs);
    finding.evidence = std::move(load.lines);
    finding.about = {SubjectOf(*load.hub)};
    AddSubjects(load.devices, finding.about);
    const std::string& name =
        load.hub->physical_hub.empty() ? load.hub->path : load.hub->physical_hub;
    finding.evidence.push_back(fmt::format(
        "{} {}: {}", load.hub->physical_hub.empty() ? "hub" : "physical hub",
        base::Printable(name, 80),
        load.hub->protocol == 2 ? "a translator for each port" : "one translator for all ports"));
    finding.action =
        "Put audio interfaces and other full-speed devices on ports of their own, away from one "
        "another's hub.";
    findings.push_back(std::move(finding));
  }
}

}  // namespace report::rules
