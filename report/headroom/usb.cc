// SPDX-License-Identifier: Apache-2.0
//
// Headroom of the USB links that capture comes in on.

#include <cstddef>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom/headroom.h"
#include "report/loads/assumed_demand.h"
#include "report/loads/cable_lines.h"
#include "report/loads/subjects.h"
#include "report/loads/usb_booking.h"
#include "report/loads/usb_driver.h"
#include "report/words/quantities.h"

namespace report {
namespace {

// Why a link carries what it does.
std::string CapacitySource(const Facts& facts, const UsbLink& link) {
  if (link.device == nullptr) {
    return "available: at least one port's";
  }
  const UsbStream* stream = FindStream(facts.streams, link.device);
  const bool by_setting = stream != nullptr && stream->setting_bytes_per_second > 0 &&
                          link.capacity_bytes_per_second == stream->setting_bytes_per_second;
  if (by_setting) {
    return "available: what the device's largest alternate setting holds";
  }
  return "available: usable share of the " + FormatLinkSpeed(link.device->speed_mbps) + " link";
}

// Of what is certain, where that is more than all; links carry less of one kind than of another.
double CapacityFor(const UsbLink& link) {
  const double percent = link.certain_percent.value_or(0);
  return percent <= 100 ? *link.capacity_bytes_per_second
                        : (link.bytes_per_second - link.assumed_bytes_per_second) / percent * 100;
}

std::string NoPicturesOf(const Facts& facts, const UsbLink& link) {
  return link.device == nullptr ? std::string() : WhyNoPictures(facts.machine().usb, *link.device);
}

void AddUsbRow(const Facts& facts, const UsbLink& link, std::vector<Headroom>& rows) {
  Headroom row = NewRow(Resource::kUsb, LinkLabel(link), "bytes/s");
  row.about = {SubjectOf(link)};
  row.demand = link.bytes_per_second;
  row.margin_percent = facts.profile().margins.usb_percent;
  const std::string asked = fmt::format("needed: pictures of {} matched to the profile",
                                        link.captures.size() == 1 ? "the device" : "the devices");
  const auto& capacity = link.capacity_bytes_per_second;
  const std::string no_pictures = NoPicturesOf(facts, link);
  if (!no_pictures.empty()) {
    row.source = no_pictures;
    row.how_to_prove = "let its driver take it, then run again";
  } else if (!capacity) {
    row.source = "link speed unknown";
    row.how_to_prove = "plug the devices in and read the tree again";
  } else if (link.lower_bound && row.demand > *capacity) {
    // More than one port's worth: the controller may still carry it.
    row.source =
        fmt::format("{}; one port's {} is passed and the controller's own uplink is unknown", asked,
                    base::FormatBytesPerSecond(*capacity));
    row.how_to_prove =
        "spread the devices over two controllers, or open all of them at once and count their "
        "frames";
  } else {
    row.source = asked + "; " + CapacitySource(facts, link);
    SetCapacityFor(row, CapacityFor(link), AssumedOf(facts, link));
  }
  rows.push_back(row);
}

// A device behind a hub is shown when it is tighter than the hub's link.
bool Shown(const std::vector<UsbLink>& links, const UsbLink& link) {
  if (link.bytes_per_second <= 0 || link.RootHub()) {
    return false;
  }
  if (link.device == nullptr || link.device->role == probes::UsbRole::kHub) {
    return true;
  }
  const UsbLink* above = FindLink(links, link.device->parent);
  if (above == nullptr || above->RootHub() || !link.capacity_bytes_per_second ||
      !above->capacity_bytes_per_second) {
    return true;
  }
  return HeadroomPercent(link.bytes_per_second, *link.capacity_bytes_per_second) <
         HeadroomPercent(above->bytes_per_second, *above->capacity_bytes_per_second);
}

// A reservation is granted or refused: nothing of it need be kept free. Under EHCI the driver's own
// sum decides; elsewhere only what is close to the limit is worth a row.
void AddReservations(const Facts& facts, std::vector<Headroom>& rows) {
  for (const BusBooking& booking : BookBuses(facts.links)) {
    const bool ehci = booking.Ehci();
    const double left = HeadroomPercent(booking.MostUs(), booking.reservable_us());
    if (!ehci && left >= facts.profile().margins.usb_percent) {
      continue;
    }
    Headroom row = NewRow(Resource::kUsb, "", "us");
    row.about = {SubjectOf(*booking.link)};
    row.item = fmt::format("{} (time reserved in each {})", booking.Name(), booking.Frame());
    row.demand = booking.Grants() ? booking.MostUs() : booking.link->reserved.least_us;
    if (booking.Grants() || booking.Refuses()) {
      SetCapacity(row, booking.reservable_us(), Basis::kComputed);
      row.source = ehci
                       ? "available: what an EHCI controller books of 125 us; all of it may be used"
                       : "available: the periodic share of the bus; all of it may be used";
    } else {
      row.source = fmt::format(
          "between {} and {} of {}: the devices and the controller decide when they start",
          FormatAvailable(booking.link->reserved.least_us, "us"),
          FormatNeeded(booking.MostUs(), "us"), FormatAvailable(booking.reservable_us(), "us"));
      row.how_to_prove = kOpenAllAtOnce;
    }
    rows.push_back(row);
  }
}

}  // namespace

void UsbHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  for (const UsbLink& link : facts.links) {
    if (Shown(facts.links, link) ||
        (link.bytes_per_second > 0 && !NoPicturesOf(facts, link).empty())) {
      AddUsbRow(facts, link, rows);
    }
  }
  AddReservations(facts, rows);
  const auto missing = facts.usb.Missing();
  if (missing.empty()) {
    return;
  }
  Headroom row = NewRow(Resource::kUsb, "", "bytes/s");
  row.item = missing.size() == 1 ? "the USB port of " + base::Printable(missing.front()->source)
                                 : fmt::format("the USB ports of {} sources", missing.size());
  for (const MatchedSource* matched : missing) {
    row.demand += matched->bytes_per_second;
    row.about.push_back(SourceSubject(matched->source));
    row.basis = matched->Assumed() ? Basis::kAssumed : row.basis;
  }
  row.margin_percent = facts.profile().margins.usb_percent;
  const auto& present = facts.machine().usb.present;
  row.source = present.known() ? kNoCameraThere : "USB unknown: " + present.why_unknown();
  row.how_to_prove = present.known() ? "plug every camera in where it will be, then run again"
                                     : "run where USB can be read: on the PC itself, outside a "
                                       "container";
  rows.push_back(row);
}

// Headroom of cables that the profile names and that cannot carry their pictures.

void CableHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  const auto& sources = facts.profile().sources;
  for (std::size_t i = 0; i < sources.size() && i < facts.demand().sources.size(); ++i) {
    const double asked = facts.demand().sources[i].bytes_per_second;
    if (!CableTooSlow(sources[i], asked)) {
      continue;  // a limit that is kept is the port's to show
    }
    Headroom row =
        NewRow(Resource::kUsb, "the USB 2 cable of " + base::Printable(sources[i].name), "bytes/s");
    row.about = {SourceSubject(sources[i].name)};
    row.demand = asked;
    row.margin_percent = facts.profile().margins.usb_percent;
    row.source = "available: 480 Mb/s of signalling, before any overhead";
    const std::string assumption = AssumptionOf(sources[i]);
    AssumedPart assumed{
        assumption.empty() ? 0 : asked,
        {},
        "open the camera with that cable and count its frames (rigproof line-check)"};
    assumed.Add(assumption);
    SetCapacityFor(row, kUsb2CableBytesPerSecond, assumed);
    rows.push_back(row);
  }
}

}  // namespace report
