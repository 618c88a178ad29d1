// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/packet_gate.h"

#include <numeric>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/demand/pipeline_sizes.h"

namespace bench {
namespace {

using testing::ElementsAre;

WriteItem Picture(std::int64_t index, bool key = false) {
  WriteItem item;
  item.packet = base::NewPacket();
  item.packet->pts = index;
  item.packet->flags = key ? AV_PKT_FLAG_KEY : 0;
  return item;
}

/// A gate whose queue holds a key frame and what follows it, up to the brim.
class FullGate : public testing::Test {
 protected:
  FullGate() {
    for (std::int64_t i = 0; i < 300; ++i) {
      ledger_.Due(i);
    }
    for (int i = 0; i < profiles::kWriteQueuePackets; ++i) {
      gate_.Hand(Picture(next_++, i == 0), false);
    }
  }

  void Take(int packets) {
    for (int i = 0; i < packets; ++i) {
      gate_.queue().Pop();
    }
  }
  std::vector<std::int64_t> RestOfQueue() {
    std::vector<std::int64_t> rest;
    gate_.Close();
    while (auto item = gate_.queue().Pop()) {
      rest.push_back(item->packet->pts);
    }
    return rest;
  }

  Ledger ledger_{25};
  PacketGate gate_{ledger_, Stage::kSend};
  std::int64_t next_ = 0;
};

TEST_F(FullGate, NothingIsDroppedWhileThereIsRoom) {
  EXPECT_EQ(ledger_.totals().dropped, 0);
  EXPECT_EQ(RestOfQueue().size(), static_cast<std::size_t>(profiles::kWriteQueuePackets));
}

TEST_F(FullGate, ALossLastsUntilTheNextKeyFrame) {
  gate_.Hand(Picture(96), false);  // no room
  Take(profiles::kWriteQueuePackets);
  gate_.Hand(Picture(97), false);  // room, but it hangs on 96
  gate_.Hand(Picture(98, true), false);
  gate_.Hand(Picture(99), false);
  EXPECT_THAT(RestOfQueue(), ElementsAre(98, 99));
  EXPECT_EQ(ledger_.totals().dropped, 2);
}

TEST_F(FullGate, AKeyFrameThatFindsNoRoomMendsNothing) {
  gate_.Hand(Picture(96, true), false);
  Take(profiles::kWriteQueuePackets);
  gate_.Hand(Picture(97), false);
  EXPECT_TRUE(RestOfQueue().empty());
  EXPECT_EQ(ledger_.totals().dropped, 2);
}

// HEVC with open groups: a key frame is followed by pictures that are shown
// before it and were made from the group before (ITU-T H.265 3.1, "RASL picture").
TEST_F(FullGate, PicturesShownBeforeTheMendingKeyFrameAreLostToo) {
  gate_.Hand(Picture(96), false);
  Take(profiles::kWriteQueuePackets);
  gate_.Hand(Picture(100, true), false);
  gate_.Hand(Picture(98), false);
  gate_.Hand(Picture(99), false);
  gate_.Hand(Picture(104), false);
  EXPECT_THAT(RestOfQueue(), ElementsAre(100, 104));
  EXPECT_EQ(ledger_.totals().dropped, 3);
}

// Packets come in coding order, 4 2 1 3; people want one run of frames.
TEST_F(FullGate, DropsAreToldInTheOrderOfTheirFrames) {
  for (const std::int64_t index : {99, 97, 96, 98, 103, 101, 100, 102}) {
    gate_.Hand(Picture(index), false);
  }
  gate_.Close();
  const auto runs = ledger_.drop_runs("Air");
  ASSERT_EQ(runs.size(), 1U);
  EXPECT_EQ(runs[0].frames, 8);
  EXPECT_EQ(runs[0].stage, bench::Stage::kSend);
  EXPECT_DOUBLE_EQ(runs[0].at_s, 96.0 / 25);
}

TEST_F(FullGate, AtAStopRefusedPacketsStayInFlight) {
  gate_.queue().Close();
  gate_.Hand(Picture(96), false);
  gate_.Hand(Picture(97), true);
  gate_.Close();
  EXPECT_EQ(ledger_.totals().dropped, 0);
}

}  // namespace
}  // namespace bench
