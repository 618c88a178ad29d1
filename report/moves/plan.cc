// SPDX-License-Identifier: Apache-2.0
//
// Search answer to a plan in words.

#include "report/moves/plan.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <string>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/data/finding.h"
#include "report/headroom/headroom.h"
#include "report/loads/usb_booking.h"
#include "report/loads/wiring.h"
#include "report/moves/apply.h"
#include "report/moves/reasons.h"
#include "report/moves/text.h"
#include "report/rules/all.h"
#include "report/words/cautions.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

// Sockets for the devices that change their group: free ones first, in order.
std::vector<Placement> Place(const MachineProblem& posed, const MoveAnswer& answer) {
  std::vector<Placement> placements;
  std::vector<bool> taken(posed.sockets.size(), false);
  for (std::size_t i = 0; i < posed.candidates.size(); ++i) {
    if (answer.group[i] == posed.problem.now[i]) {
      taken[posed.candidates[i].socket] = true;
    }
  }
  for (std::size_t i = 0; i < posed.candidates.size(); ++i) {
    if (answer.group[i] == posed.problem.now[i]) {
      continue;
    }
    for (const std::size_t at : posed.groups[static_cast<std::size_t>(answer.group[i])].sockets) {
      if (!taken[at]) {
        taken[at] = true;
        placements.push_back({i, at, SpeedIn(posed.candidates[i], posed.sockets[at])});
        break;
      }
    }
  }
  return placements;
}

// Whether the socket still holds a plug that has yet to leave it.
const Placement* Blocker(const MachineProblem& posed, const std::vector<Placement>& waiting,
                         const Placement& placement) {
  const auto found = std::find_if(waiting.begin(), waiting.end(), [&](const Placement& other) {
    return &other != &placement && posed.candidates[other.candidate].socket == placement.socket;
  });
  return found == waiting.end() ? nullptr : &*found;
}

Move Describe(const Facts& facts, const MachineProblem& posed, const Placement& placement) {
  const Candidate& candidate = posed.candidates[placement.candidate];
  const probes::UsbDevice& device = *candidate.stream->device;
  const Socket& from = posed.sockets[candidate.socket];
  const Socket& to = posed.sockets[placement.socket];
  const PortHalf& old_half = from.HalfFor(device.speed_mbps);
  const PortHalf& new_half = to.HalfFor(placement.speed_mbps);
  Move move;
  move.path = device.path;
  move.device = device.product.empty() ? device.vendor : device.product;
  move.source = candidate.stream->shown.source;
  move.from = PortName(old_half.hub->path, old_half.number);
  move.to = PortName(new_half.hub->path, new_half.number);
  move.new_path = PathBelow(*new_half.hub, new_half.number);
  const std::string carries =
      move.source.empty() ? "" : fmt::format(", source \"{}\",", base::Printable(move.source, 60));
  move.text = fmt::format(
      "Take the plug of {}{} out of {} and put it into {}. The system calls "
      "them {} and {}.",
      DeviceLabel(device), carries, PlaceText(facts, old_half, from.panel),
      PlaceText(facts, new_half, to.panel), SocketName(from, device.speed_mbps),
      SocketName(to, placement.speed_mbps));
  return move;
}

// In an order in which no plug meets another; rings are opened by taking one plug out first.
std::vector<Move> InOrder(const Facts& facts, const MachineProblem& posed,
                          std::vector<Placement> waiting) {
  std::vector<Move> moves;
  while (!waiting.empty()) {
    auto next = std::find_if(waiting.begin(), waiting.end(), [&](const Placement& one) {
      return Blocker(posed, waiting, one) == nullptr;
    });
    std::string first;
    if (next == waiting.end()) {
      next = waiting.begin();
      const Placement* blocker = Blocker(posed, waiting, *next);
      first =
          fmt::format("First take out the plug of {} and keep it in hand: its turn comes below. ",
                      DeviceLabel(*posed.candidates[blocker->candidate].stream->device));
    }
    moves.push_back(Describe(facts, posed, *next));
    moves.back().text.insert(0, first);
    waiting.erase(next);
  }
  return moves;
}

bool Same(const Finding& one, const Finding& other) {
  return one.id == other.id && one.about == other.about;
}

// No finding of its kind is left on the link, or the device, that it is of.
bool Gone(const Finding& finding, const MovedMachine& then, const std::vector<Finding>& left) {
  if (finding.about.empty()) {
    return false;
  }
  Subject subject = finding.about.front();
  if (subject.kind == SubjectKind::kUsb) {
    subject.name = then.Renamed(subject.name);
  }
  return std::none_of(left.begin(), left.end(), [&](const Finding& other) {
    return other.id == finding.id && IsAbout(other, subject);
  });
}

std::vector<Finding> FindingsOf(const Facts& facts) {
  std::vector<Headroom> rows;
  UsbHeadroom(facts, rows);
  return rules::LinkFindings({facts, rows, {}, {}, {}});
}

void ReferToPlan(const MovePlan& plan, Finding& finding) {
  finding.action =
      fmt::format("The move plan repairs it ({}). Or: {}",
                  Plural(static_cast<std::int64_t>(plan.moves.size()), "move"), finding.action);
}

/// What to do about a finding whose usual advice is another port, where none mends it.
struct StayingAdvice {
  std::string_view id;
  const char* action;
  bool inside = true;  // it may mean a card
};

constexpr std::array kStaying = std::to_array<StayingAdvice>({
    {"usb-link-oversubscribed",
     "Moving it to another port of this PC will not help: ask for fewer pixels, a lower frame rate "
     "or a more compact "
     "pixel format, or, where cameras share the link, add a USB card with a controller of its "
     "own."},
    {"usb-no-bandwidth",
     "Moving it to another port of this PC will not help: lower the raster or rate of a camera, or "
     "add a USB card "
     "with a controller of its own."},
    {"usb-ehci-refuses",
     "Moving it to another port of this PC will not help: lower the raster or rate of a camera, or "
     "add a USB card "
     "with a controller of its own."},
    {"usb-shared-hub",
     "No free port of this PC is better (see the move plan): mind that one hub is one cable and "
     "one plug for all of them, or add a USB card with a controller of its own."},
    {"usb-shared-controller",
     "No free port of another controller is better (see the move plan): run all cameras at once "
     "before the show, or add a USB card with a controller of its own."},
    {"usb-slower-than-it-could",
     "Moving it to another port of this PC will not help: try a short cable made for that speed, "
     "plugged in firmly, "
     "without extensions.",
     false},
});

/// Empty where the usual advice stands.
std::string AdviceWithoutPorts(const std::string& id) {
  const auto* found = std::find_if(kStaying.begin(), kStaying.end(),
                                   [&](const StayingAdvice& one) { return one.id == id; });
  if (found == kStaying.end()) {
    return {};
  }
  return found->inside ? WithCaution(found->action, kCautionInside) : found->action;
}

void AdviseStaying(const MovePlan& plan, Finding& finding) {
  const bool looked = plan.every_way && plan.devices > 0 && !plan.worst_before.empty();
  std::string stay = AdviceWithoutPorts(finding.id);
  if (looked && !stay.empty()) {
    finding.action = std::move(stay);
  }
}

void AddMended(const Facts& facts, const MovedMachine& then, std::vector<Finding>& findings,
               MovePlan& plan) {
  const std::vector<Finding> left = FindingsOf(then.facts());
  const std::vector<Finding> of_links = FindingsOf(facts);
  for (Finding& finding : findings) {
    const bool of_link = std::any_of(of_links.begin(), of_links.end(),
                                     [&](const Finding& one) { return Same(one, finding); });
    if (of_link && Gone(finding, then, left)) {
      plan.mends.push_back(finding.title);
      ReferToPlan(plan, finding);
    } else {
      AdviseStaying(plan, finding);
    }
  }
}

}  // namespace

std::optional<MovePlan> PlanMoves(const Facts& facts, std::vector<Finding>& findings) {
  if (facts.streams.empty()) {
    return std::nullopt;
  }
  constexpr std::size_t kMostCaptures = 64;
  MovePlan plan;
  if (facts.streams.size() > kMostCaptures) {
    plan.why = {
        fmt::format("{} capture devices are more than a plan is made for.", facts.streams.size())};
    return plan;
  }
  const MachineProblem posed = PoseProblem(facts);
  const MoveAnswer answer = SearchMoves(posed.problem);
  plan.free_ports = posed.free_sockets;
  plan.every_way = answer.exact;
  plan.devices = static_cast<int>(std::count_if(posed.candidates.begin(), posed.candidates.end(),
                                                [](const auto& one) { return one.movable; }));
  const FullestLink before = FindFullest(facts.links);
  plan.percent_before = before.percent;
  plan.worst_before = before.label;
  const std::vector<Placement> placements = Place(posed, answer);
  if (placements.empty()) {
    plan.percent_after = plan.percent_before;
    plan.worst_after = plan.worst_before;
    plan.why = WhyNoMoves(facts, posed, answer, before);
    for (Finding& finding : findings) {
      AdviseStaying(plan, finding);
    }
    return plan;
  }
  const MovedMachine then(facts, posed, placements);
  const FullestLink after = FindFullest(then.facts().links);
  plan.percent_after = after.percent;
  plan.worst_after = after.label;
  plan.moves = InOrder(facts, posed, placements);
  plan.why = WhyTheseMoves(posed, answer, after);
  if (std::string relief = ReliefText(facts.links, then.facts().links); !relief.empty()) {
    plan.why.insert(plan.why.begin(), std::move(relief));
  }
  plan.wiring = BuildWiring(then.facts().links, then.facts().streams, {});
  AddMended(facts, then, findings, plan);
  return plan;
}

}  // namespace report
