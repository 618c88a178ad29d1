// SPDX-License-Identifier: Apache-2.0
//
// Network sources over real sockets: every picture is accounted for, whatever happens to packets.

#include "bench/feeds/network_feed.h"

#include <algorithm>
#include <random>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/feeds/arrivals.h"
#include "bench/feeds/rtp_packetizer.h"
#include "bench/feeds/rtp_receiver.h"
#include "bench/pipeline/ingest.h"
#include "bench/pipeline/source_chain.h"
#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

FeedRing RingOf(const profiles::Source& source) {
  auto ring = MakeFeedRing(source, "", 12, 1, {});
  EXPECT_TRUE(ring);
  return std::move(*ring);
}

const AVPacket& PacketOf(const FeedRing& ring, std::int64_t index) {
  return *ring.packets[static_cast<std::size_t>(index) % ring.packets.size()];
}

std::int64_t Decoded(const profiles::Source& source, AVCodecID codec,
                     const std::vector<ReceivedPicture>& pictures) {
  auto ingest = Ingest::Open(source, codec, SourcePlan{});
  EXPECT_TRUE(ingest);
  std::int64_t out = 0;
  const auto taker = [&](const base::FramePtr& picture, std::int64_t index) {
    EXPECT_EQ(index, out) << "pictures come out in order, each once";
    EXPECT_EQ(picture->width, source.raster.width);
    ++out;
  };
  for (const ReceivedPicture& picture : pictures) {
    CaptureItem item{nullptr, base::Share(*picture.packet), picture.index, true};
    EXPECT_TRUE(ingest->Take(item, taker));
  }
  EXPECT_TRUE(ingest->Finish(taker));
  return out;
}

class EveryCodec : public testing::TestWithParam<const char*> {};
INSTANTIATE_TEST_SUITE_P(NetworkFeed, EveryCodec, testing::Values("h264", "hevc"));

TEST_P(EveryCodec, ComesThroughRtpPictureByPicture) {
  const profiles::Source source = tests::NetworkCamera(GetParam());
  const FeedRing ring = RingOf(source);
  RunControl control;
  auto feed = OpenNetworkFeed(source, ring, control);
  ASSERT_TRUE(feed) << feed.error().detail;
  std::vector<ReceivedPicture> taken;
  for (std::int64_t index = 0; index < 30; ++index) {
    ASSERT_TRUE((*feed)->Send(PacketOf(ring, index), index));
    auto picture = (*feed)->Receive();  // known to be whole before the next one is sent
    ASSERT_TRUE(picture && *picture);
    EXPECT_EQ((**picture).index, index);
    EXPECT_TRUE((**picture).whole);
    taken.push_back(std::move(**picture));
  }
  EXPECT_EQ(Decoded(source, ring.packet_codec, taken), 30);
  EXPECT_EQ((*feed)->counts().packets_lost, 0);
  EXPECT_GT((*feed)->counts().packets_received, 30) << "pictures are larger than a datagram";
  EXPECT_GE((*feed)->socket_buffer_bytes(), 1);
}

TEST_P(EveryCodec, ComesThroughRtspPictureByPicture) {
  profiles::Source source = tests::NetworkCamera(GetParam());
  source.transport = profiles::SourceTransport::kRtsp;
  const FeedRing ring = RingOf(source);
  RunControl control;
  auto feed = OpenNetworkFeed(source, ring, control);
  ASSERT_TRUE(feed) << feed.error().detail;
  std::vector<ReceivedPicture> taken;
  std::jthread receiver([&] {
    for (;;) {
      auto picture = (*feed)->Receive();
      ASSERT_TRUE(picture) << picture.error().detail;
      if (!*picture) {
        return;
      }
      taken.push_back(std::move(**picture));
    }
  });
  for (std::int64_t index = 0; index < 30; ++index) {
    for (;;) {
      auto sent = (*feed)->Send(PacketOf(ring, index), index);
      ASSERT_TRUE(sent) << sent.error().detail;
      if (*sent) {
        break;
      }
      std::this_thread::yield();  // the connection is full: it empties
    }
  }
  (*feed)->EndSending();
  receiver.join();
  EXPECT_EQ(taken.size(), 30U);
  EXPECT_EQ(Decoded(source, ring.packet_codec, taken), 30);
}

/// Takes pictures, whole ones into `came_whole`: up to the first of these, or until the end.
void TakeWhole(NetworkFeed& feed, bool until_the_end, std::vector<std::int64_t>& came_whole) {
  for (;;) {
    auto picture = feed.Receive();
    ASSERT_TRUE(picture);
    if (!*picture) {
      return;
    }
    if ((**picture).whole) {
      came_whole.push_back((**picture).index);
      if (!until_the_end) {
        return;
      }
    }
  }
}

TEST(RtpFeed, SeesEveryPacketThatIsLostOnPurpose) {
  const profiles::Source source = tests::NetworkCamera("h264", 500);
  const FeedRing ring = RingOf(source);
  std::int64_t let_through = 0;
  std::int64_t held_back = 0;
  bool touched = false;  // a datagram of the picture being sent was lost
  const auto filter = [&](std::int64_t number) {
    const bool lose = number % 11 == 5;
    touched = touched || lose;
    ++(lose ? held_back : let_through);
    return !lose;
  };
  RunControl control;
  auto feed = OpenNetworkFeed(source, ring, control, filter);
  ASSERT_TRUE(feed);
  std::vector<std::int64_t> damaged;
  std::vector<std::int64_t> whole;
  std::vector<std::int64_t> came_whole;
  for (std::int64_t index = 0; index < 60; ++index) {
    touched = false;
    ASSERT_TRUE((*feed)->Send(PacketOf(ring, index), index));
    (touched ? damaged : whole).push_back(index);
    if (!touched) {
      TakeWhole(**feed, false, came_whole);  // so the socket's buffer never overflows
    }
  }
  (*feed)->EndSending();
  TakeWhole(**feed, true, came_whole);
  EXPECT_FALSE(damaged.empty());
  EXPECT_EQ(came_whole, whole);
  const NetworkCounts counts = (*feed)->counts();
  EXPECT_EQ(counts.packets_received, let_through);
  EXPECT_GE(counts.packets_lost, held_back - 1) << "the very last one leaves no gap";
  EXPECT_LE(counts.packets_lost, held_back);
}

void ExpectAStopEndsTheWait(profiles::SourceTransport transport) {
  profiles::Source source = tests::NetworkCamera("h264");
  source.transport = transport;
  const FeedRing ring = RingOf(source);
  RunControl control;
  auto feed = OpenNetworkFeed(source, ring, control);
  ASSERT_TRUE(feed) << feed.error().detail;
  std::jthread stopper([&] { control.Stop("interrupted"); });
  auto picture = (*feed)->Receive();
  ASSERT_TRUE(picture);
  EXPECT_FALSE(*picture);
}

TEST(RtpFeed, AStoppedRunEndsTheWait) {
  ExpectAStopEndsTheWait(profiles::SourceTransport::kRtp);
}

TEST(RtspFeed, AStoppedRunEndsTheWait) {
  ExpectAStopEndsTheWait(profiles::SourceTransport::kRtsp);
}

TEST(RtspFeed, DoesNotOpenInAStoppedRun) {
  profiles::Source source = tests::NetworkCamera("h264");
  source.transport = profiles::SourceTransport::kRtsp;
  const FeedRing ring = RingOf(source);
  RunControl control;
  control.Stop("interrupted");
  EXPECT_FALSE(OpenNetworkFeed(source, ring, control));
}

/// A receiver with the socket that a camera would send from.
struct OpenReceiver {
  UdpSocket camera;
  std::unique_ptr<RtpReceiver> receiver;
  std::vector<Datagram> picture;  // a good one, cut
};

OpenReceiver Receiver(const profiles::Source& source, const FeedRing& ring,
                      const RunControl& control) {
  auto packetizer = RtpPacketizer::Open(ring.packet_codec, source.raster.width,
                                        source.raster.height, source.rate);
  auto camera = UdpSocket::Open();
  auto socket = UdpSocket::Open();
  EXPECT_TRUE(packetizer && camera && socket);
  EXPECT_TRUE(camera->ConnectTo(socket->port()));
  EXPECT_TRUE(socket->ConnectTo(camera->port()));
  EXPECT_TRUE(socket->SetReceiveBuffer(4 << 20));
  const std::vector<Datagram> cut = **(*packetizer)->Cut(PacketOf(ring, 0), 0);
  const auto first = ParseRtpHeader(cut[0]);
  auto receiver =
      RtpReceiver::Open(std::move(*socket), {*(*packetizer)->Description(1), source.rate, *first},
                        control, [](std::int64_t) {});
  EXPECT_TRUE(receiver);
  return {std::move(*camera), std::move(*receiver), cut};
}

/// Everything that comes, decoded as far as it can be.
void DecodeAll(const profiles::Source& source, const FeedRing& ring, RtpReceiver& receiver) {
  auto ingest = Ingest::Open(source, ring.packet_codec, SourcePlan{});
  ASSERT_TRUE(ingest);
  const auto nobody = [](const base::FramePtr&, std::int64_t) {};
  for (;;) {
    auto picture = receiver.Next();
    ASSERT_TRUE(picture);
    if (!*picture) {
      break;
    }
    const CaptureItem item{nullptr, std::move((*picture)->packet), (*picture)->index, true};
    EXPECT_TRUE(ingest->Take(item, nobody)) << "damage is no reason to end";
  }
  EXPECT_TRUE(ingest->Finish(nobody));
}

TEST_P(EveryCodec, SurvivesHostilePackets) {
  const profiles::Source source = tests::NetworkCamera(GetParam());
  const FeedRing ring = RingOf(source);
  RunControl control;
  OpenReceiver open = Receiver(source, ring, control);
  std::mt19937 random(3550);
  const auto byte = [&] { return static_cast<std::uint8_t>(random() & 0xffU); };
  std::vector<Datagram> attack;
  for (int round = 0; round < 300; ++round) {
    Datagram datagram = open.picture[random() % open.picture.size()];
    switch (round % 4) {
      case 0:  // anything
        datagram.resize(1 + random() % 64);
        std::generate(datagram.begin(), datagram.end(), byte);
        break;
      case 1:  // cut short, down to nothing but a part of the head
        datagram.resize(1 + random() % datagram.size());
        break;
      case 2:  // a good head, then anything
        datagram.resize(12 + random() % 40);
        std::generate(datagram.begin() + 12, datagram.end(), byte);
        break;
      default:  // some bytes changed, the head included
        for (int i = 0; i < 4; ++i) {
          datagram[random() % std::min<std::size_t>(datagram.size(), 20)] = byte();
        }
    }
    attack.push_back(std::move(datagram));
  }
  ASSERT_TRUE(open.camera.Send(attack));
  ASSERT_TRUE(open.camera.Send(open.picture));
  open.receiver->SenderEnded();
  DecodeAll(source, ring, *open.receiver);
  EXPECT_GT(open.receiver->received(), 0);
}

TEST(RtpReceiver, HearsNobodyButTheCamera) {
  const profiles::Source source = tests::NetworkCamera("h264");
  const FeedRing ring = RingOf(source);
  RunControl control;
  OpenReceiver open = Receiver(source, ring, control);
  auto stranger = UdpSocket::Open();
  ASSERT_TRUE(stranger);
  std::vector<Datagram> forged = open.picture;
  for (Datagram& datagram : forged) {
    datagram[8] ^= 0xffU;  // another SSRC
  }
  ASSERT_TRUE(open.camera.Send(forged));
  open.receiver->SenderEnded();
  auto picture = open.receiver->Next();
  ASSERT_TRUE(picture);
  EXPECT_FALSE(*picture);
  EXPECT_EQ(open.receiver->received(), 0);
}

TEST(Arrivals, EachPictureLeavesOnce) {
  Arrivals arrivals;
  for (std::int64_t index = 0; index < 5; ++index) {
    arrivals.Due(index);
  }
  arrivals.Received(1);
  EXPECT_TRUE(arrivals.GiveUp(0));
  EXPECT_FALSE(arrivals.GiveUp(0));
  const auto lost = arrivals.CameOut(3);
  ASSERT_TRUE(lost);
  ASSERT_EQ(lost->size(), 2U);
  EXPECT_EQ((*lost)[0].index, 1);
  EXPECT_TRUE((*lost)[0].received);
  EXPECT_EQ((*lost)[1].index, 2);
  EXPECT_FALSE((*lost)[1].received);
  EXPECT_FALSE(arrivals.CameOut(1)) << "overtaken: given up already";
  EXPECT_FALSE(arrivals.CameOut(77)) << "made up by a decoder";
  EXPECT_EQ(arrivals.TakeRest().size(), 1U);
  EXPECT_TRUE(arrivals.TakeRest().empty());
}

/// A source whose every 9th datagram is lost, with an iso of it that takes all it gets.
TEST(SourceChain, ChargesLostPicturesToReceiveAndBalances) {
  const profiles::Source source = tests::NetworkCamera("h264");
  const FeedRing ring = RingOf(source);
  base::SystemClock clock;
  RealTimePacer pacer(clock);
  RunControl control;
  auto feed =
      OpenNetworkFeed(source, ring, control, [](std::int64_t number) { return number % 9 != 4; });
  auto ingest = Ingest::Open(source, ring.packet_codec, SourcePlan{});
  ASSERT_TRUE(feed && ingest);
  Ledger iso_ledger(source.rate);
  OutputEntrance iso(source.rate, source.rate, true, {&iso_ledger});
  SourceChain chain(Camera{source, ring, 0, std::move(*feed)}, std::move(*ingest), {&iso}, pacer,
                    control);
  std::jthread encoder([&] {
    while (auto item = iso.queue().Pop()) {
      iso_ledger.DeliveredAtEnd(item->index);
    }
  });
  pacer.Begin(clock.NowNs());
  chain.Start(1'000'000'000);
  chain.Join();
  encoder.join();
  EXPECT_FALSE(control.stopped()) << control.reason();
  const FeedLedger account = chain.Account();
  EXPECT_EQ(account.due, 25);
  EXPECT_EQ(account.due, account.delivered + account.dropped);
  EXPECT_GT(account.dropped, 0);
  EXPECT_GT(account.packets_lost, 0);
  EXPECT_GT(account.pictures_incomplete, 0);
  EXPECT_EQ(account.transport, "rtp");
  EXPECT_EQ(account.decoder, "h264");
  const Ledger::Totals totals = iso_ledger.totals();
  EXPECT_EQ(totals.due, 25);
  EXPECT_EQ(totals.delivered + totals.dropped, 25);
  EXPECT_EQ(totals.dropped, account.dropped);
  bool receive = false;
  for (const DropRun& run : iso_ledger.drop_runs("iso")) {
    EXPECT_THAT(run.stage, testing::AnyOf(bench::Stage::kReceive, bench::Stage::kDecode));
    receive = receive || run.stage == bench::Stage::kReceive;
  }
  EXPECT_TRUE(receive);
}

}  // namespace
}  // namespace bench
