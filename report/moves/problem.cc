// SPDX-License-Identifier: Apache-2.0
//
// Facts to a problem for the search: the same sums as those of the links.

#include "report/moves/problem.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "report/loads/usb_capacity.h"

namespace report {
namespace {

std::int64_t Share(double part, const std::optional<double>& whole) {
  constexpr double kMost = 1e6;  // a million times too much is enough to say so
  if (part <= 0 || whole.value_or(0) <= 0) {
    return 0;
  }
  return static_cast<std::int64_t>(
      std::llround(std::min(part / *whole, kMost) * static_cast<double>(kWholeShare)));
}

Shares PartOf(const UsbStream& stream, const std::optional<double>& bytes_per_second,
              const BusTime& time, const std::optional<double>& reservable_us) {
  const std::int64_t bytes = Share(stream.shown.bytes_per_second, bytes_per_second);
  return {bytes, stream.shown.assumed ? 0 : bytes, Share(time.least_us, reservable_us),
          Share(time.most_us, reservable_us)};
}

// A device that runs slower than its socket lets it has a cable or a plug that would be no better
// elsewhere.
double BestSpeed(const probes::UsbDevice& device, const Socket& socket) {
  const double best = device.best_speed_mbps.known()
                          ? std::max(*device.best_speed_mbps, device.speed_mbps)
                          : device.speed_mbps;
  const PortHalf& half = best >= 5000 && socket.usb3.there() ? socket.usb3 : socket.usb2;
  const double here = half.there() ? std::min(best, half.hub->speed_mbps) : device.speed_mbps;
  return device.speed_mbps < here ? device.speed_mbps : best;
}

bool SlowNeighbour(const probes::UsbDevice& device) {
  return device.role == probes::UsbRole::kStorage || device.role == probes::UsbRole::kNetwork;
}

class Poser {
 public:
  explicit Poser(const Facts& facts) : facts_(facts) {}

  MachineProblem Pose() {
    posed_.sockets = FindSockets(facts_.machine().usb);
    AddCandidates();
    AddGroups();
    NumberLinks();
    FindDisks();
    AddOptions();
    return std::move(posed_);
  }

 private:
  const UsbLink* LinkOf(const std::string& path) const { return FindLink(facts_.links, path); }

  void AddCandidates() {
    for (const UsbStream& stream : facts_.streams) {
      for (std::size_t at = 0; at < posed_.sockets.size(); ++at) {
        const Socket& socket = posed_.sockets[at];
        if (std::find(socket.devices.begin(), socket.devices.end(), stream.device) ==
            socket.devices.end()) {
          continue;
        }
        Candidate candidate;
        candidate.stream = &stream;
        candidate.socket = at;
        const bool fixed = stream.device->removable.known() && *stream.device->removable == "fixed";
        candidate.movable = socket.offered && !fixed && socket.devices.size() == 1;
        candidate.best_mbps = BestSpeed(*stream.device, socket);
        posed_.candidates.push_back(candidate);
        break;
      }
    }
  }

  const Candidate* Holder(std::size_t socket) const {
    const auto found =
        std::find_if(posed_.candidates.begin(), posed_.candidates.end(),
                     [&](const Candidate& one) { return one.socket == socket && one.movable; });
    return found == posed_.candidates.end() ? nullptr : &*found;
  }

  // Ports of the PC itself first, of controllers without disks and network first; then as read.
  std::tuple<int, int, std::size_t> Preference(std::size_t at) const {
    const Socket& socket = posed_.sockets[at];
    const PortHalf& half = socket.usb3.there() ? socket.usb3 : socket.usb2;
    const UsbLink* link = LinkOf(half.hub->path);
    const bool busy =
        link != nullptr && link->controller != nullptr &&
        std::any_of(facts_.links.begin(), facts_.links.end(), [&](const UsbLink& one) {
          return one.device != nullptr && one.controller == link->controller &&
                 SlowNeighbour(*one.device);
        });
    return {half.hub->parent.empty() ? 0 : 1, busy ? 1 : 0, at};
  }

  void AddGroups() {
    std::vector<std::size_t> order;
    for (std::size_t at = 0; at < posed_.sockets.size(); ++at) {
      const Socket& socket = posed_.sockets[at];
      const bool free = socket.offered && socket.devices.empty();
      posed_.free_sockets += free ? 1 : 0;
      if (free || Holder(at) != nullptr) {
        order.push_back(at);
      }
    }
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return Preference(a) < Preference(b); });
    std::map<std::pair<const probes::UsbDevice*, const probes::UsbDevice*>, std::size_t> index;
    std::map<std::size_t, std::vector<std::size_t>> places;  // sockets of each group as found
    for (const bool free : {true, false}) {
      for (const std::size_t at : order) {
        const Socket& socket = posed_.sockets[at];
        const auto [found, fresh] =
            index.try_emplace({socket.usb2.hub, socket.usb3.hub}, index.size());
        (void)fresh;
        if (free == socket.devices.empty()) {
          places[found->second].push_back(at);
        }
      }
    }
    std::vector<std::pair<std::size_t, std::size_t>> ranked;  // first socket, group
    ranked.reserve(places.size());
    for (const auto& [group, sockets] : places) {
      ranked.emplace_back(sockets.front(), group);
    }
    std::stable_sort(ranked.begin(), ranked.end(), [&](const auto& a, const auto& b) {
      return Preference(a.first) < Preference(b.first);
    });
    for (const auto& [first, group] : ranked) {
      posed_.groups.push_back({places[group], false});
    }
    for (const Candidate& candidate : posed_.candidates) {
      if (!candidate.movable) {
        posed_.groups.push_back({{candidate.socket}, true});
      }
    }
  }

  // Hubs' cables, buses that all ports share, controllers.
  void NumberLinks() {
    for (const UsbLink& link : facts_.links) {
      const bool bus = link.RootHub() && link.Scheduler() == UsbScheduler::kEhci;
      const bool hub =
          link.device != nullptr && !link.RootHub() && link.device->role == probes::UsbRole::kHub;
      if (link.device == nullptr || bus || hub) {
        numbers_.emplace(&link, posed_.problem.links++);
      }
    }
  }

  void FindDisks() {
    for (const UsbLink& disk : facts_.links) {
      if (disk.device == nullptr || disk.device->role != probes::UsbRole::kStorage) {
        continue;
      }
      for (const UsbLink* link : LinksUp(facts_.links, disk.Path())) {
        with_disk_.insert(link);
      }
      with_disk_.insert(ControllerOf(facts_.links, disk.Path()));
    }
  }

  LinkShare ShareOn(const UsbLink& link, const UsbStream& stream) const {
    LinkShare share{numbers_.at(&link), {}};
    if (!stream.counted) {
      return share;
    }
    if (link.device == nullptr) {
      share.part = PartOf(
          stream,
          ControllerBytesPerSecond(facts_.machine().usb, *link.controller, stream.shown.transfer),
          {}, std::nullopt);
      return share;
    }
    const double speed = link.device->speed_mbps;
    const int lanes = LanesOf(*link.device);
    share.part = PartOf(stream, LinkBytesPerSecond(speed, stream.shown.transfer, lanes),
                        stream.TimeOn(speed, link.Scheduler(), lanes), ReservableUs(speed));
    return share;
  }

  // The links from a hub up to the controller.
  std::vector<const UsbLink*> Above(const probes::UsbDevice& hub) const {
    std::vector<const UsbLink*> above;
    const UsbLink* top = nullptr;
    for (const UsbLink* link : LinksUp(facts_.links, hub.path)) {
      if (numbers_.count(link) > 0) {
        above.push_back(link);
      }
      top = link;
    }
    if (top != nullptr && top->controller != nullptr) {
      if (const UsbLink* controller = LinkOf(top->controller->address)) {
        above.push_back(controller);
      }
    }
    return above;
  }

  std::optional<MoveOption> OptionIn(const Candidate& candidate, const Socket& socket) const {
    const double speed = SpeedIn(candidate, socket);
    if (speed <= 0) {
      return std::nullopt;
    }
    const bool as_it_is = speed == candidate.stream->device->speed_mbps;
    const UsbStream stream = as_it_is ? *candidate.stream : AtSpeed(*candidate.stream, speed);
    const int lanes = as_it_is ? LanesOf(*stream.device) : 1;
    const probes::UsbDevice& hub = *socket.HalfFor(speed).hub;
    MoveOption option;
    UsbScheduler scheduler = UsbScheduler::kXhci;
    for (const UsbLink* link : Above(hub)) {
      option.shared.push_back(ShareOn(*link, stream));
      scheduler = link->device != nullptr ? link->Scheduler() : scheduler;
      option.burden.hubs += link->device != nullptr && !link->RootHub() ? 1 : 0;
      option.burden.disks += with_disk_.count(link) > 0 ? 1 : 0;
    }
    if (stream.counted) {
      option.own = PartOf(stream, OwnLinkBytesPerSecond(stream, speed, lanes),
                          stream.TimeOn(speed, scheduler, lanes), ReservableUs(speed));
    }
    return option;
  }

  int TopOf(const SocketGroup& group) const {
    const Socket& socket = posed_.sockets[group.sockets.front()];
    const PortHalf& half = socket.usb3.there() ? socket.usb3 : socket.usb2;
    const UsbLink* link = LinkOf(half.hub->path);
    const UsbLink* controller = link != nullptr && link->controller != nullptr
                                    ? LinkOf(link->controller->address)
                                    : nullptr;
    return controller != nullptr ? numbers_.at(controller) : -1;
  }

  void AddOptions() {
    MoveProblem& problem = posed_.problem;
    for (const SocketGroup& group : posed_.groups) {
      problem.places.push_back(static_cast<int>(group.sockets.size()));
      problem.top.push_back(TopOf(group));
    }
    for (const Candidate& candidate : posed_.candidates) {
      auto& row = problem.options.emplace_back();
      int now = -1;
      for (const SocketGroup& group : posed_.groups) {
        const bool here = std::find(group.sockets.begin(), group.sockets.end(), candidate.socket) !=
                          group.sockets.end();
        const bool allowed = here || (candidate.movable && !group.pinned);
        now = here ? static_cast<int>(row.size()) : now;
        row.push_back(allowed ? OptionIn(candidate, posed_.sockets[group.sockets.front()])
                              : std::nullopt);
        if (here && !row.back()) {
          row.back() = MoveOption{};  // a link that nothing is known of
        }
      }
      problem.now.push_back(now);
    }
  }

  const Facts& facts_;
  MachineProblem posed_;
  std::map<const UsbLink*, int> numbers_;
  std::set<const UsbLink*> with_disk_;  // that a disk hangs below
};

}  // namespace

MachineProblem PoseProblem(const Facts& facts) {
  return Poser(facts).Pose();
}

double SpeedIn(const Candidate& candidate, const Socket& socket) {
  if (candidate.best_mbps >= 5000 && socket.usb3.there()) {
    return std::min(candidate.best_mbps, socket.usb3.hub->speed_mbps);
  }
  const double now = candidate.stream->device->speed_mbps;
  if (now >= 5000 || !socket.usb2.there()) {
    return 0;  // it would fall back to high speed, or there is no such half
  }
  return std::min(now, socket.usb2.hub->speed_mbps);
}

}  // namespace report
