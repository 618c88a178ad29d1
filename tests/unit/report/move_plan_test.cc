// SPDX-License-Identifier: Apache-2.0
//
// Move plans of small PCs whose best answer is plain, and of random ones tried every way.

#include "report/move_plan.h"

#include <algorithm>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess.h"
#include "report/move_apply.h"
#include "report/move_reasons.h"
#include "tests/unit/report/port_builder.h"

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
  EXPECT_THAT(shared->action, HasSubstr("The move plan mends it (1 move)"));
  EXPECT_THAT(document.move_plan->mends, Contains(shared->title));
}

TEST(PlanMoves, ShowsTheWiringAfterTheMoves) {
  const MovePlan plan = PlanOf(TwoBehindAHub());
  std::vector<std::string> captures;
  for (const WiringNode& node : plan.wiring) {
    if (node.kind == "capture") {
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
  // The first controller is all that is left: its sum stays, so nothing gets better.
  EXPECT_THAT(plan.moves, IsEmpty());
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
  EXPECT_THAT(PlanOf(evidence).moves, IsEmpty());
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
  EXPECT_THAT(slow->action, HasSubstr("The move plan mends it"));
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
  AddSource(evidence, "Slow camera", 1e6 * (1 + below(20)));
  GivePorts(evidence);
  return evidence;
}

/// Every way to put the plugs into sockets, each judged by the sums of the links themselves.
class EverySocket {
 public:
  EverySocket(const Facts& facts, const MachineProblem& posed) : facts_(facts), posed_(posed) {
    best_percent_ = FindFullest(facts.links).percent;
    Descend(0);
  }
  double best_percent() const { return best_percent_; }
  std::size_t best_moves() const { return best_moves_; }

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
    constexpr double kAlike = 1e-6;
    std::vector<Placement> placements;
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      if (taken_[i] != posed_.candidates[i].socket) {
        placements.push_back(
            {i, taken_[i], SpeedIn(posed_.candidates[i], posed_.sockets[taken_[i]])});
      }
    }
    const MovedMachine moved(facts_, posed_, placements);
    const double percent = FindFullest(moved.facts().links).percent;
    if (percent < best_percent_ - kAlike ||
        (percent < best_percent_ + kAlike && placements.size() < best_moves_)) {
      best_percent_ = percent;
      best_moves_ = placements.size();
    }
  }

  const Facts& facts_;
  const MachineProblem& posed_;
  std::vector<std::size_t> taken_;
  double best_percent_ = 0;
  std::size_t best_moves_ = 0;
};

class RandomMachines : public ::testing::TestWithParam<unsigned> {};

TEST_P(RandomMachines, ThePlanIsAsGoodAsTheBestOfEveryWay) {
  const Evidence evidence = RandomMachine(GetParam());
  const Facts facts = GatherFacts(evidence);
  const MachineProblem posed = PoseProblem(facts);
  const EverySocket every(facts, posed);
  std::vector<Finding> none;
  const MovePlan plan = *PlanMoves(facts, none);
  EXPECT_NEAR(plan.percent_after, every.best_percent(), 1e-5);
  EXPECT_EQ(plan.moves.size(), every.best_moves());
}

INSTANTIATE_TEST_SUITE_P(FixedSeeds, RandomMachines, ::testing::Range(1U, 13U));

}  // namespace
}  // namespace report::testing
