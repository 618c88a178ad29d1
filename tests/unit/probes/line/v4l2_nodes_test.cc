// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_nodes.h"

#include <memory>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/line/v4l2_formats.h"
#include "tests/support/places.h"
#include "tests/support/scripted_port.h"
#include "tests/support/usb_made_machine.h"

namespace {

using probes::CaptureNodes;
using probes::FindCaptureNodes;
using probes::VideoAnswer;
using probes::VideoIdentity;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;

/// Nodes with an even number capture; the others carry metadata.
VideoAnswer AskEven(const std::string& node, VideoIdentity& identity) {
  identity.captures = (node.back() - '0') % 2 == 0;
  identity.card = "Lab Camera";
  identity.pixel_formats = {"yuyv422"};
  return {};
}

std::vector<std::string> NamesOf(const CaptureNodes& found) {
  std::vector<std::string> names;
  for (const auto& node : found.nodes) {
    names.push_back(node.node);
  }
  return names;
}

TEST(FindCaptureNodes, FindsThoseOfAStoredMachineInTheirPlaces) {
  const auto root =
      base::MachineRoot::At(support::Fixtures() / "machines/2xhci-3capture-shared-hub");
  ASSERT_TRUE(root);
  const CaptureNodes found = FindCaptureNodes(*root, AskEven);
  EXPECT_THAT(NamesOf(found), ElementsAre("video0", "video2", "video4", "video6"));
  // v4l2-ctl --list-devices in that machine.
  EXPECT_EQ(found.nodes[2].pci_address, "0000:00:04.0");
  EXPECT_EQ(found.nodes[2].usb_path, "1-1.1");
  EXPECT_EQ(found.nodes[0].pci_address, "0000:00:05.0");
}

TEST(FindCaptureNodes, MachineWithoutVideoDriversHasNone) {
  const tests::UsbMadeMachine machine;
  const CaptureNodes found = FindCaptureNodes(machine.root(), AskEven);
  EXPECT_THAT(found.nodes, IsEmpty());
  EXPECT_EQ(found.why_none, "no video driver is loaded");
}

class MadeNodes : public testing::Test {
 protected:
  void Node(const std::string& name, const std::string& number) {
    machine_.File("sys/class/video4linux/" + name + "/name", "Lab \x1b[2J Camera\n");
    machine_.File("sys/class/video4linux/" + name + "/dev", number + "\n");
  }
  void OpenFile(const std::string& pid, const std::string& file, const std::string& target) {
    machine_.File("proc/" + pid + "/comm", "mixer\n");
    machine_.File(target, "");
    machine_.Link("proc/" + pid + "/fd/" + file, target);
  }

  tests::UsbMadeMachine machine_;
};

TEST_F(MadeNodes, NamesAreMadeSafeToShow) {
  Node("video0", "81:0");
  const CaptureNodes found = FindCaptureNodes(machine_.root(), AskEven);
  ASSERT_THAT(found.nodes, SizeIs(1));
  EXPECT_EQ(found.nodes[0].name.find('\x1b'), std::string::npos);
}

TEST_F(MadeNodes, OnlyVideoNodesAreAsked) {
  Node("video0", "81:0");
  Node("vbi0", "81:1");
  Node("v4l-subdev0", "81:2");
  Node("videoX", "81:3");
  EXPECT_THAT(NamesOf(FindCaptureNodes(machine_.root(), AskEven)), ElementsAre("video0"));
}

TEST_F(MadeNodes, NodeThatAProcessHoldsIsNotOpened) {
  Node("video0", "81:0");
  Node("video2", "81:2");
  OpenFile("812", "7", "dev/video0");
  OpenFile("812", "9", "dev/video0");
  std::vector<std::string> asked;
  const CaptureNodes found =
      FindCaptureNodes(machine_.root(), [&](const std::string& node, VideoIdentity& identity) {
        asked.push_back(node);
        return AskEven(node, identity);
      });
  EXPECT_THAT(asked, ElementsAre("video2"));
  ASSERT_THAT(found.nodes, SizeIs(2)) << "unknown, so it counts as capturing";
  ASSERT_THAT(found.nodes[0].users, SizeIs(1));
  EXPECT_EQ(found.nodes[0].users[0].pid, 812);
  EXPECT_EQ(found.nodes[0].users[0].process, "mixer");
}

TEST_F(MadeNodes, DeviceDatabaseTellsThatABusyNodeOnlyCarriesMetadata) {
  Node("video1", "81:1");
  OpenFile("812", "7", "dev/video1");
  machine_.File("run/udev/data/c81:1", "E:ID_V4L_VERSION=2\nE:ID_V4L_CAPABILITIES=:\n");
  EXPECT_THAT(FindCaptureNodes(machine_.root(), AskEven).nodes, IsEmpty());
}

TEST_F(MadeNodes, NodeThatMayNotBeOpenedIsKeptWithTheReason) {
  Node("video0", "81:0");
  const CaptureNodes found =
      FindCaptureNodes(machine_.root(), [](const std::string&, VideoIdentity&) {
        return VideoAnswer{probes::VideoFault::kDenied, "open: Permission denied"};
      });
  ASSERT_THAT(found.nodes, SizeIs(1));
  EXPECT_EQ(found.nodes[0].not_looked_into, "open: Permission denied");
}

TEST(AskPort, OpensAsksAndCloses) {
  base::ManualClock clock;
  auto script = std::make_shared<tests::DeviceScript>();
  VideoIdentity identity;
  const auto answer = probes::AskPort(std::make_shared<tests::ScriptedPort>(script, clock),
                                      std::chrono::seconds{3600}, identity);
  EXPECT_TRUE(answer.ok()) << answer.detail;
  EXPECT_EQ(identity.card, "Lab Camera");
  EXPECT_THAT(script->calls, ElementsAre("open", "identify", "close"));
}

TEST(AskPort, DriverThatHangsIsLeftBehindAndRefused) {
  auto gate = std::make_shared<tests::Gate>();
  VideoIdentity identity;
  const auto answer = probes::AskPort(std::make_shared<tests::HangingPort>(gate),
                                      std::chrono::seconds{0}, identity);
  EXPECT_EQ(answer.fault, probes::VideoFault::kRefused);
  EXPECT_EQ(answer.detail, "its driver: gave no answer within 0 s");
  gate->OpenAndAwait(2);  // opened and closed
}

TEST(UdevSaysCapture, ReadsTheCapabilities) {
  EXPECT_EQ(probes::UdevSaysCapture("E:ID_V4L_CAPABILITIES=:capture:\n"), true);
  EXPECT_EQ(probes::UdevSaysCapture("E:ID_V4L_CAPABILITIES=:video_output:\n"), false);
  EXPECT_EQ(probes::UdevSaysCapture("E:ID_BUS=usb\n"), std::nullopt);
}

TEST(PixelFormatOfFourcc, UnknownCodesKeepTheirCharactersSafely) {
  EXPECT_EQ(probes::PixelFormatOfFourcc(probes::FourccCode("ZZ9z")), "ZZ9z");
  EXPECT_EQ(probes::PixelFormatOfFourcc(0x1b).find('\x1b'), std::string::npos);
}

TEST(LeastPictureBytes, AreThoseOfAPictureWithoutPadding) {
  EXPECT_EQ(probes::LeastPictureBytes("yuyv422", 1920, 1080), 4147200);
  EXPECT_EQ(probes::LeastPictureBytes("nv12", 1280, 720), 1382400);
  EXPECT_EQ(probes::LeastPictureBytes("mjpeg", 1920, 1080), 1);
}

}  // namespace
