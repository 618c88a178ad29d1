// SPDX-License-Identifier: Apache-2.0
//
// Reasons in sentences.

#include "report/moves/reasons.h"

#include <algorithm>

#include <fmt/format.h>

#include "report/words/cautions.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr double kWholePercent = 100;

bool OwnCable(const UsbLink& link) {
  return link.device != nullptr && link.device->role == probes::UsbRole::kCapture;
}

void AddCutShort(const MoveAnswer& answer, std::vector<std::string>& why) {
  if (!answer.exact) {
    why.emplace_back(
        "There are too many devices and ports to look at every way: a better one may "
        "exist.");
  }
}

void AddLimit(const FullestLink& fullest, std::vector<std::string>& why) {
  if (fullest.link == nullptr) {
    return;
  }
  if (OwnCable(*fullest.link)) {
    why.push_back("The fullest link is the cable of " + DeviceLabel(*fullest.link->device) +
                  " itself: no other port of this PC makes it less full.");
  } else if (fullest.controller) {
    why.emplace_back(
        "What is left is the sum on a USB controller: only another controller, such as "
        "a USB card, would take some of it.");
  } else {
    why.push_back(
        "The free ports that remain lead through links that would be as full, or do not "
        "suit the devices on " +
        DeviceLabel(*fullest.link->device) + ".");
  }
  if (fullest.percent > kWholePercent) {
    why.emplace_back(
        WithCaution("Moving plugs alone will not help: ask for fewer pixels, a lower frame rate or "
                    "a more compact pixel format, or add a USB controller.",
                    kCautionInside));
  } else if (fullest.link->MayRefuse()) {
    why.emplace_back(
        "The last camera there may be refused: devices and controller decide when all of them are "
        "opened at once (rigproof line-check).");
  }
}

}  // namespace

FullestLink FindFullest(const std::vector<UsbLink>& links) {
  constexpr double kAlike = 1e-6;
  FullestLink fullest;
  for (const UsbLink& link : links) {
    const double used = UsedPercent(link).value_or(0);
    const bool more = used > fullest.percent + kAlike;
    const bool nearer = fullest.link != nullptr && used > fullest.percent - kAlike &&
                        link.depth > fullest.link->depth;
    if (used > 0 && (more || nearer)) {
      fullest = {&link, std::max(used, fullest.percent), LinkLabel(link), false};
    }
  }
  fullest.controller = std::any_of(links.begin(), links.end(), [&](const UsbLink& link) {
    return link.device == nullptr && UsedPercent(link).value_or(0) > fullest.percent - kAlike;
  });
  return fullest;
}

std::vector<RankedLink> RankLinks(const std::vector<UsbLink>& links) {
  std::vector<RankedLink> ranked;
  for (const UsbLink& link : links) {
    const double used = UsedPercent(link).value_or(0);
    double own = 0;
    int loading = 0;
    for (const probes::UsbDevice* capture : link.captures) {
      const UsbLink* cable = FindLink(links, capture->path);
      const bool loads =
          cable != nullptr && (cable->bytes_per_second > 0 || cable->reserved.most_us > 0);
      loading += loads ? 1 : 0;
      own += loads ? UsedPercent(*cable).value_or(0) : 0;
    }
    if (used > 0 && (OwnCable(link) || loading > 1 || used > own)) {
      ranked.push_back({&link, used});
    }
  }
  std::stable_sort(ranked.begin(), ranked.end(),
                   [](const auto& a, const auto& b) { return a.percent > b.percent; });
  return ranked;
}

std::string ReliefText(const std::vector<UsbLink>& before, const std::vector<UsbLink>& then) {
  constexpr double kWorthTelling = 1;
  if (FindFullest(then).percent < FindFullest(before).percent - kWorthTelling) {
    return {};
  }
  for (const RankedLink& was : RankLinks(before)) {
    const UsbLink* is = OwnCable(*was.link) ? nullptr : FindLink(then, was.link->Path());
    const double left = is == nullptr ? was.percent : UsedPercent(*is).value_or(0);
    if (left < was.percent - kWorthTelling) {
      return fmt::format(
          "The fullest link stays as full on every port. Of the others, {} falls "
          "from {} to {}.",
          LinkLabel(*was.link), FormatPercent(was.percent), FormatPercent(left));
    }
  }
  return {};
}

std::vector<std::string> WhyNoMoves(const Facts& facts, const MachineProblem& posed,
                                    const MoveAnswer& answer, const FullestLink& now) {
  std::vector<std::string> why;
  const bool movable = std::any_of(posed.candidates.begin(), posed.candidates.end(),
                                   [](const Candidate& one) { return one.movable; });
  const bool counted = std::any_of(facts.streams.begin(), facts.streams.end(),
                                   [](const UsbStream& one) { return one.counted; });
  const bool ports_read =
      std::any_of(facts.machine().usb.devices.begin(), facts.machine().usb.devices.end(),
                  [](const auto& one) { return !one.port_list.empty(); });
  if (!counted) {
    why.emplace_back(
        "No source of the profile is on a USB capture device: nothing loads the links.");
    return why;
  }
  if (!ports_read) {
    why.emplace_back("The ports of this PC were not read, so no other place can be offered.");
    return why;
  }
  if (!movable) {
    why.emplace_back("No capture device has a plug that can be moved.");
    return why;
  }
  why.push_back(fmt::format(
      "{} to put the capture devices on the sockets of this PC ({} free) has less full links, "
      "compared from the fullest down.",
      answer.exact ? "No way" : "None of the ways that were looked at", posed.free_sockets));
  AddLimit(now, why);
  AddCutShort(answer, why);
  return why;
}

std::vector<std::string> WhyTheseMoves(const MachineProblem& posed, const MoveAnswer& answer,
                                       const FullestLink& then) {
  std::vector<std::string> why;
  const std::string none = fmt::format(
      "to put the capture devices on the sockets of this PC ({} free) none has less full links, "
      "compared from the fullest down",
      posed.free_sockets);
  why.push_back(answer.exact ? "Of all ways " + none + ", and none as good needs fewer moves."
                             : "Of the ways that were looked at " + none + ".");
  AddLimit(then, why);
  AddCutShort(answer, why);
  why.emplace_back(
      "Another free port of the same hub or controller does as well; \"rigproof "
      "inventory\" shows where a plug landed.");
  return why;
}

}  // namespace report
