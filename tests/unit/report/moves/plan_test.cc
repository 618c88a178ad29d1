// SPDX-License-Identifier: Apache-2.0
//
// Move plans of small PCs whose best answer is plain, and of random ones tried every way.

#include "report/moves/plan.h"

#include <algorithm>
#include <cmath>
#include <random>
#include <utility>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "report/moves/apply.h"
#include "report/moves/reasons.h"
#include "report/words/cautions.h"
#include "tests/support/port_builder.h"

namespace report::testing {
namespace {

using ::testing::AllOf;
using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::SizeIs;

constexpr double kFullHd = 124.416e6;  // 1920 x 1080 x 2 bytes at 30, 31.1 % of 400 MB/s

Evidence TwoBehindAHub() {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  GivePorts(evidence);
  for (auto& source : evidence.demand.sources) {
    source.bytes_per_second = kFullHd;
  }
  return evidence;
}

probes::UsbDevice& DeviceAt(Evidence& evidence, const std::string& path) {
  auto& devices = evidence.inventory.usb.devices;
  return *std::find_if(devices.begin(), devices.end(),
                       [&](const auto& device) { return device.path == path; });
}

MovePlan PlanOf(const Evidence& evidence) {
  Document document = Assess(evidence);
  EXPECT_TRUE(document.move_plan);
  return document.move_plan.value_or(MovePlan{});
}

std::string Joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) {
    text += line + "\n";
  }
  return text;
}

// 248.8 of 400 MB/s on the hub; one camera on the other controller leaves 124.4 on each.
TEST(PlanMoves, SpreadsTwoCamerasOverTwoControllers) {
  const MovePlan plan = PlanOf(TwoBehindAHub());
  EXPECT_NEAR(plan.percent_before, 62.2, 0.05);
  EXPECT_NEAR(plan.percent_after, 31.65, 0.05);  // its own settings hold 393.1 MB/s
  ASSERT_THAT(plan.moves, SizeIs(1));
  EXPECT_EQ(plan.moves[0].from, "2-1-port2");
  EXPECT_EQ(plan.moves[0].to, "usb4-port1");
  EXPECT_EQ(plan.moves[0].new_path, "4-1");
  EXPECT_EQ(plan.moves[0].source, "Camera 2");
  EXPECT_THAT(plan.moves[0].text,
              AllOf(HasSubstr("out of port 2 of hub Invented hub (2-1)"),
                    HasSubstr("into port 1 of the PC's second USB controller (0000:02:00.0)"),
                    HasSubstr("2-1-port2 and usb4-port1 (usb3-port1 for USB 2)")));
  EXPECT_THAT(plan.worst_before, HasSubstr("(2-1)"));
  // The root hub's other three sockets, and four of the other controller; three more on the hub.
  EXPECT_EQ(plan.free_ports, 3 + 4 + 2);
}

TEST(PlanMoves, FindingsPointToThePlanWhereItMendsThem) {
  Evidence evidence = TwoBehindAHub();
  const Document document = Assess(evidence);
  const Finding* shared = Find(document, "usb-shared-hub");
  ASSERT_NE(shared, nullptr);
  EXPECT_THAT(shared->action, HasSubstr("The move plan repairs it (1 move)"));
  EXPECT_THAT(document.move_plan->mends, Contains(shared->title));
}

TEST(PlanMoves, ShowsTheWiringAfterTheMoves) {
  const MovePlan plan = PlanOf(TwoBehindAHub());
  std::vector<std::string> captures;
  for (const WiringNode& node : plan.wiring) {
    if (node.kind == NodeKind::kCapture) {
      captures.push_back(node.path);
      EXPECT_DOUBLE_EQ(*node.demand_bytes_per_second, kFullHd);
    }
  }
  EXPECT_THAT(captures, ::testing::ElementsAre("2-1.1", "4-1"));
}

TEST(PlanMoves, OffersNoPortThatIsHardwiredOrNotUsed) {
  Evidence evidence = TwoBehindAHub();
  for (int number = 1; number <= 4; ++number) {
    PortAt(evidence, "usb4", number).connect_type =
        std::string(number % 2 == 0 ? "hardwired" : "not used");
  }
  const MovePlan plan = PlanOf(evidence);
  // The first controller is all that is left: its sum stays, and of its links the hub's gets
  // better.
  ASSERT_THAT(plan.moves, SizeIs(1));
  EXPECT_THAT(plan.moves[0].to, HasSubstr("usb2-port"));
  EXPECT_DOUBLE_EQ(plan.percent_after, plan.percent_before);
  EXPECT_EQ(plan.free_ports, 3 + 2);
  EXPECT_THAT(Joined(plan.why), HasSubstr("sum on a USB controller"));
}

TEST(PlanMoves, KeepsOffPortsThatOthersHold) {
  Evidence evidence = TwoBehindAHub();
  for (int number = 1; number <= 3; ++number) {
    probes::UsbDevice keyboard = Capture("3-" + std::to_string(number), "usb3", 3, 12);
    keyboard.port = number;
    keyboard.role = probes::UsbRole::kInput;
    keyboard.modes.clear();
    evidence.inventory.usb.devices.push_back(keyboard);
  }
  const MovePlan plan = PlanOf(evidence);
  ASSERT_THAT(plan.moves, SizeIs(1));
  EXPECT_EQ(plan.moves[0].to, "usb4-port4");
}

TEST(PlanMoves, KeepsTheSpeedOfUsb3Devices) {
  Evidence evidence = TwoBehindAHub();
  // The other controller has USB 2 only.
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& device) { return device.path == "usb4"; });
  for (auto& port : DeviceAt(evidence, "usb3").port_list) {
    port.peer.clear();
  }
  for (const Move& move : PlanOf(evidence).moves) {
    EXPECT_THAT(move.to, HasSubstr("usb2-port"));
  }
}

TEST(PlanMoves, MovesASlowlyPluggedUsb3CameraToAUsb3Port) {
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& device) { return device.path == "4-1"; });
  // A hub of USB 2 only: the camera there could do 5 Gb/s.
  devices.push_back(Hub("3-2", "usb3", 3, 480));
  devices.back().port = 2;
  devices.push_back(Capture("3-2.1", "3-2", 3, 480));
  devices.back().best_speed_mbps = 5000.0;
  GivePorts(evidence);
  const Document document = Assess(evidence);
  ASSERT_TRUE(document.move_plan);
  ASSERT_THAT(document.move_plan->moves, SizeIs(1));
  EXPECT_EQ(document.move_plan->moves[0].from, "3-2-port1");
  EXPECT_EQ(document.move_plan->moves[0].to.substr(0, 4), "usb4");
  const Finding* slow = Find(document, "usb-slower-than-it-could");
  ASSERT_NE(slow, nullptr);
  EXPECT_THAT(slow->action, HasSubstr("The move plan repairs it"));
}

TEST(PlanMoves, ALeadThatHoldsACameraBackIsNotMendedByAPort) {
  Evidence evidence = GoodEvidence();
  DeviceAt(evidence, "2-1").best_speed_mbps = 10000.0;
  DeviceAt(evidence, "usb2").speed_mbps = 10000;
  DeviceAt(evidence, "usb4").speed_mbps = 10000;
  GivePorts(evidence);
  EXPECT_THAT(PlanOf(evidence).moves, IsEmpty());
}

TEST(PlanMoves, SaysWhyNothingIsBetter) {
  Evidence evidence = GoodEvidence();
  GivePorts(evidence);
  const MovePlan plan = PlanOf(evidence);
  EXPECT_THAT(plan.moves, IsEmpty());
  EXPECT_THAT(plan.wiring, IsEmpty());
  EXPECT_DOUBLE_EQ(plan.percent_before, plan.percent_after);
  EXPECT_THAT(Joined(plan.why), HasSubstr("cable of Invented capture"));
}

TEST(PlanMoves, SaysWhenPortsWereNotRead) {
  EXPECT_THAT(Joined(PlanOf(GoodEvidence()).why), HasSubstr("ports of this PC were not read"));
}

TEST(PlanMoves, LeavesBuiltInCamerasWhereTheyAre) {
  Evidence evidence = TwoBehindAHub();
  DeviceAt(evidence, "2-1.1").removable = std::string("fixed");
  DeviceAt(evidence, "2-1.2").removable = std::string("fixed");
  const MovePlan plan = PlanOf(evidence);
  EXPECT_THAT(plan.moves, IsEmpty());
  EXPECT_EQ(plan.devices, 0);
  EXPECT_THAT(Joined(plan.why), HasSubstr("No capture device has a plug"));
}

TEST(PlanMoves, IsNoBusinessOfARehearsalAlone) {
  Evidence evidence = TwoBehindAHub();
  evidence.length = kRehearsalOnly;
  EXPECT_FALSE(Assess(evidence).move_plan);
}

TEST(PlanMoves, NoCaptureDeviceNoPlan) {
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
  EXPECT_FALSE(Assess(evidence).move_plan);
}

// A heavy camera on the shared hub, a light one on the only other socket: they change places, one
// plug out first.
TEST(PlanMoves, OpensARingOfMovesByTakingOnePlugOutFirst) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  auto& devices = evidence.inventory.usb.devices;
  devices.push_back(Capture("4-1", "usb4", 4, 5000));
  AddSource(evidence, "Camera 3", 20e6);
  evidence.demand.sources[0].bytes_per_second = 150e6;
  evidence.demand.sources[1].bytes_per_second = 200e6;
  GivePorts(evidence);
  for (auto& hub : devices) {
    const int kept = hub.path == "2-1" ? 2 : 1;
    if (!hub.port_list.empty()) {
      hub.port_list.resize(static_cast<std::size_t>(kept));
    }
  }
  const MovePlan plan = PlanOf(evidence);
  ASSERT_THAT(plan.moves, SizeIs(2));
  EXPECT_EQ(plan.free_ports, 0);
  EXPECT_THAT(plan.moves[0].text, HasSubstr("First take out the plug of"));
  EXPECT_THAT(plan.moves[1].text, Not(HasSubstr("First take out")));
  // 24576 and 32768 bytes reserved at 500 bytes/us, of 112.5 us.
  EXPECT_NEAR(plan.percent_before, 57344 / 500.0 / 112.5 * 100, 0.01);
  EXPECT_NEAR(plan.percent_after, 200 / 393.12 * 100, 0.01);
}

// The third camera asks for more than its own cable holds on any port; the two others share a hub
// that cannot hold both, and the root hub has free ports.
TEST(PlanMoves, MendsWhatItCanWhereOneCameraCannotBeHelped) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  evidence.inventory.usb.devices.push_back(Capture("4-1", "usb4", 4, 5000));
  AddSource(evidence, "Camera 3", 600e6);
  evidence.demand.sources[0].bytes_per_second = 220e6;
  evidence.demand.sources[1].bytes_per_second = 220e6;
  GivePorts(evidence);
  const Document document = Assess(evidence);
  ASSERT_TRUE(document.move_plan);
  const MovePlan& plan = *document.move_plan;
  EXPECT_NEAR(plan.percent_before, 600 / 393.12 * 100, 0.01);
  EXPECT_DOUBLE_EQ(plan.percent_after, plan.percent_before);
  ASSERT_THAT(plan.moves, SizeIs(1));
  EXPECT_THAT(plan.moves[0].from, HasSubstr("2-1-port"));
  EXPECT_THAT(plan.why.front(), AllOf(HasSubstr("stays as full on every port"),
                                      HasSubstr("USB hub Invented hub (2-1)")));
  EXPECT_THAT(plan.mends, Contains(HasSubstr("USB hub Invented hub (2-1)")));
}

TEST(PlanMoves, WhatNoPortMendsIsNotAdvisedToMove) {
  Evidence evidence = TwoBehindAHub();
  for (auto& source : evidence.demand.sources) {
    source.bytes_per_second = 220e6;
  }
  auto& devices = evidence.inventory.usb.devices;
  for (probes::UsbDevice& hub : devices) {
    hub.port_list.resize(hub.path == "2-1" ? 2 : 1);  // no socket is free
  }
  evidence.inventory.usb.controllers.pop_back();
  std::erase_if(devices, [](const auto& one) { return one.bus > 2; });
  const Document document = Assess(evidence);
  ASSERT_TRUE(document.move_plan);
  ASSERT_THAT(document.move_plan->moves, IsEmpty());
  const Finding* over = Find(document, "usb-link-oversubscribed");
  ASSERT_NE(over, nullptr);
  EXPECT_THAT(over->action, AllOf(HasSubstr("Moving it to another port of this PC will not help"),
                                  HasSubstr(std::string(kCautionInside))));
  EXPECT_THAT(Find(document, "usb-shared-hub")->action, Not(HasSubstr("Give each camera a port")));
}

TEST(PlanMoves, SurvivesPortsThatLie) {
  Evidence evidence = TwoBehindAHub();
  PortAt(evidence, "usb2", 1).peer = "usb2:1";
  PortAt(evidence, "usb2", 2).peer = "nowhere:7";
  PortAt(evidence, "usb2", 3).peer = "usb1:99999999999999999999";
  PortAt(evidence, "usb4", 1).peer = "usb2:1";
  PortAt(evidence, "usb4", 2).number = -4;
  PortAt(evidence, "usb4", 3).peer = ":";
  DeviceAt(evidence, "usb4").port_list.push_back(DeviceAt(evidence, "usb4").port_list.front());
  EXPECT_TRUE(Assess(evidence).move_plan);
}

/// A random PC: two controllers, up to two hubs, up to three cameras, few sockets.
Evidence RandomMachine(unsigned seed) {
  std::mt19937 random(seed);
  const auto below = [&](int limit) {
    return static_cast<int>(random() % static_cast<unsigned>(limit));
  };
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
  evidence.profile.sources.clear();
  evidence.demand.sources.clear();
  for (auto& hub : devices) {
    hub.ports = 2;
  }
  devices.push_back(Hub("2-1", "usb2", 2, below(2) == 0 ? 5000 : 10000));
  devices.back().ports = 3;
  devices.push_back(Hub("1-2", "usb1", 1, 480));
  devices.back().port = 2;
  devices.back().ports = 2;
  const std::vector<std::string> fast = {"2-1.1", "2-1.2", "2-1.3", "4-1", "4-2"};
  std::vector<std::string> taken;
  for (int i = 1; i <= 3; ++i) {
    const std::string& path = fast[static_cast<std::size_t>(below(static_cast<int>(fast.size())))];
    if (std::find(taken.begin(), taken.end(), path) != taken.end()) {
      continue;
    }
    taken.push_back(path);
    const bool on_root = path[1] == '-' && path.size() == 3;
    devices.push_back(Capture(path, on_root ? "usb4" : "2-1", on_root ? 4 : 2, 5000));
    devices.back().port = path.back() - '0';
    const bool bulk = below(3) == 0;
    for (auto& interface : devices.back().interfaces) {
      interface.endpoints[0].type =
          bulk ? probes::TransferType::kBulk : probes::TransferType::kIsochronous;
    }
    AddSource(evidence, "Camera " + std::to_string(i), 1e6 * (20 + below(200)));
  }
  devices.push_back(Capture("1-2.1", "1-2", 1, 480));
  AddSource(evidence, "Slow camera", 1e6 * (1 + below(40)));  // from 24.48 on its cable is too full
  if (below(2) == 0) {
    evidence.profile.sources.back().pixel_format = "mjpeg";
  }
  if (below(2) == 0) {
    devices.push_back(Hub("2-1.3", "2-1", 2, 5000));
    devices.back().port = 3;
    devices.back().ports = 2;
    if (std::find(taken.begin(), taken.end(), "2-1.3") != taken.end()) {
      devices.pop_back();
    }
  }
  if (const int at = below(3); at > 0) {
    const std::string path = at == 1 ? "1-2.2" : "3-1";
    devices.push_back(Capture(path, at == 1 ? "1-2" : "usb3", at == 1 ? 1 : 3, 480));
    devices.back().port = at == 1 ? 2 : 1;
    devices.back().role = probes::UsbRole::kStorage;
    devices.back().interfaces.clear();
  }
  GivePorts(evidence);
  return evidence;
}

std::vector<double> Percents(const std::vector<UsbLink>& links) {
  std::vector<double> percents;
  for (const RankedLink& one : RankLinks(links)) {
    percents.push_back(one.percent);
  }
  return percents;
}

/// Rounded up to whole ones of a link; what is a millionth above is the rounding of a sum.
double Twentieths(double percent) {
  return std::max(0.0, std::ceil(percent / 5 - 2e-5));
}

/// -1 where `a` is less full, from the fullest link down, all but that in whole twentieths; 0 where
/// they are alike.
int Compare(const std::vector<double>& a, const std::vector<double>& b) {
  constexpr double kAlike = 1e-5;
  for (std::size_t rank = 0; rank < std::max(a.size(), b.size()); ++rank) {
    const double one = rank < a.size() ? a[rank] : 0;
    const double other = rank < b.size() ? b[rank] : 0;
    const double apart = rank == 0 ? one - other : Twentieths(one) - Twentieths(other);
    if (std::abs(apart) > kAlike) {
      return apart < 0 ? -1 : 1;
    }
  }
  return 0;
}

/// Hubs above all captures, and links that they share with a disk, told from paths alone.
std::pair<int, int> BurdenOfTree(const probes::UsbInventory& usb) {
  std::pair<int, int> burden;
  for (const probes::UsbDevice& capture : usb.devices) {
    if (capture.role != probes::UsbRole::kCapture) {
      continue;
    }
    burden.first += static_cast<int>(std::count(capture.path.begin(), capture.path.end(), '.'));
    const auto shares = [&](const std::string& above) {
      return std::any_of(usb.devices.begin(), usb.devices.end(), [&](const auto& disk) {
        return disk.role == probes::UsbRole::kStorage && disk.path.starts_with(above);
      });
    };
    for (std::size_t dot = capture.path.find('.'); dot != std::string::npos;
         dot = capture.path.find('.', dot + 1)) {
      burden.second += shares(capture.path.substr(0, dot + 1)) ? 1 : 0;
    }
    const int first = capture.bus - (capture.bus + 1) % 2;  // buses 1 and 2, 3 and 4
    burden.second +=
        shares(std::to_string(first) + "-") || shares(std::to_string(first + 1) + "-") ? 1 : 0;
  }
  return burden;
}

/// Every way to put the plugs into sockets, each judged by the sums of the links themselves.
class EverySocket {
 public:
  EverySocket(const Facts& facts, const MachineProblem& posed) : facts_(facts), posed_(posed) {
    best_ = Percents(facts.links);
    best_burden_ = BurdenOfTree(facts.machine().usb);
    Descend(0);
  }
  const std::vector<double>& best() const { return best_; }
  std::size_t best_moves() const { return best_moves_; }
  const std::pair<int, int>& best_burden() const { return best_burden_; }

 private:
  void Descend(std::size_t candidate) {
    if (candidate == posed_.candidates.size()) {
      Judge();
      return;
    }
    const Candidate& one = posed_.candidates[candidate];
    TrySocket(candidate, one.socket);
    for (std::size_t at = 0; at < posed_.sockets.size(); ++at) {
      const Socket& socket = posed_.sockets[at];
      const bool others = std::any_of(socket.devices.begin(), socket.devices.end(),
                                      [&](const probes::UsbDevice* device) {
                                        return device->role != probes::UsbRole::kCapture;
                                      });
      if (at != one.socket && one.movable && socket.offered && !others &&
          SpeedIn(one, socket) > 0) {
        TrySocket(candidate, at);
      }
    }
  }

  void TrySocket(std::size_t candidate, std::size_t at) {
    if (std::find(taken_.begin(), taken_.end(), at) != taken_.end()) {
      return;
    }
    taken_.push_back(at);
    Descend(candidate + 1);
    taken_.pop_back();
  }

  void Judge() {
    std::vector<Placement> placements;
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      if (taken_[i] != posed_.candidates[i].socket) {
        placements.push_back(
            {i, taken_[i], SpeedIn(posed_.candidates[i], posed_.sockets[taken_[i]])});
      }
    }
    const MovedMachine moved(facts_, posed_, placements);
    const std::vector<double> percents = Percents(moved.facts().links);
    const auto burden = BurdenOfTree(moved.facts().machine().usb);
    const int order = Compare(percents, best_);
    const bool cheaper =
        std::pair(placements.size(), burden) < std::pair(best_moves_, best_burden_);
    if (order < 0 || (order == 0 && cheaper)) {
      best_ = percents;
      best_moves_ = placements.size();
      best_burden_ = burden;
    }
  }

  const Facts& facts_;
  const MachineProblem& posed_;
  std::vector<std::size_t> taken_;
  std::vector<double> best_;
  std::size_t best_moves_ = 0;
  std::pair<int, int> best_burden_;
};

/// Where the moves of a plan put the plugs.
std::vector<Placement> PlacementsOf(const MachineProblem& posed, const MovePlan& plan) {
  std::vector<Placement> placements;
  for (const Move& move : plan.moves) {
    for (std::size_t i = 0; i < posed.candidates.size(); ++i) {
      const Candidate& one = posed.candidates[i];
      for (std::size_t at = 0; at < posed.sockets.size(); ++at) {
        const double speed = SpeedIn(one, posed.sockets[at]);
        if (one.stream->device->path != move.path || speed <= 0) {
          continue;
        }
        const PortHalf& half = posed.sockets[at].HalfFor(speed);
        if (PathBelow(*half.hub, half.number) == move.new_path) {
          placements.push_back({i, at, speed});
        }
      }
    }
  }
  return placements;
}

class RandomMachines : public ::testing::TestWithParam<unsigned> {};

TEST_P(RandomMachines, ThePlanIsAsGoodAsTheBestOfEveryWay) {
  const Evidence evidence = RandomMachine(GetParam());
  const Facts facts = GatherFacts(evidence);
  const MachineProblem posed = PoseProblem(facts);
  const EverySocket every(facts, posed);
  std::vector<Finding> none;
  const MovePlan plan = *PlanMoves(facts, none);
  EXPECT_NEAR(plan.percent_after, every.best().front(), 1e-5);
  EXPECT_TRUE(plan.every_way);
  EXPECT_EQ(plan.moves.size(), every.best_moves());
  const auto placements = PlacementsOf(posed, plan);
  ASSERT_EQ(placements.size(), plan.moves.size());
  const MovedMachine moved(facts, posed, placements);
  EXPECT_EQ(Compare(Percents(moved.facts().links), every.best()), 0);
  EXPECT_EQ(BurdenOfTree(moved.facts().machine().usb), every.best_burden());
}

INSTANTIATE_TEST_SUITE_P(FixedSeeds, RandomMachines, ::testing::Range(1U, 25U));

}  // namespace
}  // namespace report::testing
