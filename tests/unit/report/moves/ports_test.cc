// SPDX-License-Identifier: Apache-2.0
//
// Sockets from ports and their peers.

#include "report/moves/ports.h"

#include <gtest/gtest.h>

#include "tests/support/port_builder.h"

namespace report::testing {
namespace {

TEST(FindSockets, JoinsTheHalvesOfASocket) {
  Evidence evidence = GoodEvidence();
  GivePorts(evidence);
  const auto sockets = FindSockets(evidence.inventory.usb);
  ASSERT_EQ(sockets.size(), 8U);  // four of each controller
  for (const Socket& socket : sockets) {
    EXPECT_TRUE(socket.usb2.there() && socket.usb3.there());
    EXPECT_EQ(socket.usb2.number, socket.usb3.number);
    EXPECT_TRUE(socket.offered);
  }
  EXPECT_EQ(sockets[0].devices.size(), 1U);  // 2-1, by its USB 3 half
  EXPECT_EQ(sockets[0].devices[0]->path, "2-1");
  EXPECT_TRUE(sockets[1].devices.empty());
}

TEST(FindSockets, OneHalfThatIsNotUsedClosesTheSocket) {
  Evidence evidence = GoodEvidence();
  GivePorts(evidence);
  PortAt(evidence, "usb2", 3).connect_type = std::string("not used");
  PortAt(evidence, "usb1", 4).connect_type = std::string("unknown");
  const auto sockets = FindSockets(evidence.inventory.usb);
  EXPECT_FALSE(sockets[2].offered);
  EXPECT_TRUE(sockets[3].offered);
}

TEST(FindSockets, DevicesOnPortsThatWereNotReadHaveOneThatIsNotOffered) {
  const Evidence evidence = GoodEvidence();
  const auto sockets = FindSockets(evidence.inventory.usb);
  ASSERT_EQ(sockets.size(), 2U);
  EXPECT_FALSE(sockets[0].offered);
  EXPECT_EQ(sockets[0].usb3.hub->path, "usb2");
}

TEST(FindSockets, KeepsTheSideOfTheCase) {
  Evidence evidence = GoodEvidence();
  GivePorts(evidence);
  PortAt(evidence, "usb4", 2).panel = std::string("front");
  EXPECT_EQ(FindSockets(evidence.inventory.usb)[5].panel, "front");
}

}  // namespace
}  // namespace report::testing
