// SPDX-License-Identifier: Apache-2.0
//
// Blocks of Matroska files (RFC 8794, RFC 9559), whole, unfinished, damaged and hostile.

#include "probes/recording/matroska/walk.h"

#include <algorithm>
#include <optional>
#include <span>
#include <stop_token>
#include <string>
#include <utility>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/recording/codecs/opus_packet.h"
#include "probes/recording/matroska/ebml_element.h"
#include "tests/support/made_matroska.h"

namespace probes {
namespace {

using tests::Bytes;
using tests::ClusterContent;
using tests::EbmlHeader;
using tests::Element;
using tests::Matroska;
using tests::OpenElement;
using tests::SimpleBlock;
using tests::TrackEntry;
using tests::Tracks;
using tests::Uint;

constexpr std::uint32_t kCluster = 0x1F43B675;
constexpr std::uint32_t kSegment = 0x18538067;

std::span<const std::uint8_t> View(const std::string& text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

struct Walked {
  std::optional<MatroskaHead> head;
  std::vector<MatroskaBlock> blocks;
  MatroskaEnd end;

  std::vector<std::int64_t> Times(std::size_t track) const {
    std::vector<std::int64_t> times;
    for (const MatroskaBlock& block : blocks) {
      if (block.track == track) {
        times.push_back(block.at.value_or(-1));
      }
    }
    return times;
  }
};

Walked WalkOver(const std::string& file) {
  MemoryBytes source(View(file));
  ForwardBytes bytes(source);
  Walked walked;
  if (auto head = ReadMatroskaHead(bytes, 0)) {
    walked.head = *std::move(head);
    walked.end = WalkMatroska(
        bytes, *walked.head, {},
        [&](const MatroskaBlock& block) { walked.blocks.push_back(block); }, [](std::int64_t) {});
  }
  return walked;
}

/// Zeros behind what there is, up to any size; tells how far reading came.
class ZeroTail : public ByteSource {
 public:
  ZeroTail(std::string bytes, std::int64_t size) : bytes_(std::move(bytes)), size_(size) {}

  std::int64_t size() const override { return size_; }
  std::size_t ReadAt(std::int64_t at, std::span<std::uint8_t> into) override {
    const auto count = static_cast<std::size_t>(
        std::clamp<std::int64_t>(size_ - at, 0, static_cast<std::int64_t>(into.size())));
    std::fill(into.begin(), into.end(), 0);
    if (at < static_cast<std::int64_t>(bytes_.size())) {
      bytes_.copy(reinterpret_cast<char*>(into.data()), count, static_cast<std::size_t>(at));
    }
    furthest_ = std::max(furthest_, at + static_cast<std::int64_t>(count));
    return count;
  }
  std::int64_t furthest() const { return furthest_; }

 private:
  std::string bytes_;
  std::int64_t size_;
  std::int64_t furthest_ = 0;
};

constexpr std::int64_t kMiB = 1 << 20;

std::string TwoClusters() {
  return Matroska(
      {Element(kCluster, ClusterContent(0, 5)), Element(kCluster, ClusterContent(200, 5))});
}

TEST(EbmlElement, NumbersAndSizesAsInTheirRfc) {
  // RFC 8794, 4.3: the same number 2 in one to four bytes; 6: all ones are no size.
  for (const std::string& two :
       {std::string("\x82"), std::string("\x40\x02", 2), std::string("\x20\x00\x02", 3),
        std::string("\x10\x00\x00\x02", 4)}) {
    const auto number = ReadEbmlNumber(View(two));
    ASSERT_TRUE(number);
    EXPECT_EQ(number->value, 2U);
    EXPECT_EQ(number->length, two.size());
  }
  EXPECT_TRUE(ReadEbmlNumber(View("\xff"))->all_ones);
  EXPECT_FALSE(ReadEbmlNumber(View(std::string(8, '\0'))));
  EXPECT_FALSE(ReadEbmlElement(View("\x1f\x43\xb6\x75"), 0));  // a size is missing
  EXPECT_FALSE(ReadEbmlElement(View("\xff\x81"), 0));          // no ID has all ones
}

TEST(MatroskaWalk, GivesTracksAndTimesOfBlocks) {
  const Walked walked = WalkOver(TwoClusters());
  ASSERT_TRUE(walked.head);
  ASSERT_EQ(walked.head->tracks.size(), 2U);
  EXPECT_EQ(walked.head->tracks[0].codec, "V_MPEG4/ISO/AVC");
  EXPECT_EQ(walked.head->tracks[0].frame_ns, 40'000'000);
  EXPECT_THAT(walked.Times(0), testing::ElementsAre(0, 40, 80, 120, 160, 200, 240, 280, 320, 360));
  // RFC 9559, 5.1.4.1.25: CodecDelay is taken off; 6.5 ms are 7 ticks.
  EXPECT_EQ(walked.Times(1).front(), -7);
  EXPECT_EQ(walked.blocks[0].bytes, 50);
  EXPECT_FALSE(walked.end.cut);
  EXPECT_EQ(walked.end.damaged_places, 0);
}

TEST(MatroskaWalk, ReadsGroupsWithTheirDurationAndLaces) {
  const std::string laced =
      tests::BlockBody(2, 10, 0x04, std::string("\x02") + std::string(60, 's'));
  const std::string group =
      Element(0xA0, Element(0xA1, laced) + Uint(0x9B, 60) + Element(0xFB, "\xff"));
  const Walked walked =
      WalkOver(Matroska({Element(kCluster, Uint(0xE7, 100) + group + SimpleBlock(1, -20))}));
  ASSERT_EQ(walked.blocks.size(), 2U);
  EXPECT_EQ(walked.blocks[0].frames, 3);
  EXPECT_EQ(walked.blocks[0].bytes, 60);
  EXPECT_EQ(walked.blocks[0].duration, 60);
  EXPECT_EQ(walked.blocks[1].at, 80);  // times within a cluster may be before it
}

TEST(MatroskaWalk, SizesThatAreNotToldAreFollowed) {
  const std::string live =
      EbmlHeader("webm") +
      OpenElement(kSegment, Tracks() + OpenElement(kCluster, ClusterContent(0, 5)) +
                                Element(0x1C53BB6B, "cues") +
                                OpenElement(kCluster, ClusterContent(200, 5)));
  const Walked walked = WalkOver(live);
  EXPECT_EQ(walked.blocks.size(), 20U);
  EXPECT_FALSE(walked.end.cut);
  const Walked shorter = WalkOver(live.substr(0, live.size() - 8));
  EXPECT_EQ(shorter.blocks.size(), 19U);
  EXPECT_TRUE(shorter.end.cut);
  EXPECT_EQ(shorter.end.damaged_places, 0);
}

TEST(MatroskaWalk, PassesOverWhatItNeedNotKnow) {
  const std::string odd = Element(0xEC, std::string(30, '\0')) + Element(0xBF, "crc4") +
                          Element(0x4DAD, "of a later standard");
  const Walked walked =
      WalkOver(Matroska({Element(0xEC, "void"), Element(kCluster, odd + ClusterContent(0, 2) + odd),
                         Element(0x1254C367, "t")}));
  EXPECT_EQ(walked.blocks.size(), 4U);
  EXPECT_EQ(walked.end.damaged_places, 0);
}

TEST(MatroskaWalk, GoesOnAtTheNextClusterBehindDamage) {
  std::string file = TwoClusters();
  const auto third = file.find(SimpleBlock(1, 80));
  file.replace(third, 3, 3, '\0');
  const Walked walked = WalkOver(file);
  EXPECT_THAT(walked.Times(0), testing::ElementsAre(0, 40, 200, 240, 280, 320, 360));
  EXPECT_EQ(walked.end.damaged_at, static_cast<std::int64_t>(third));
  EXPECT_EQ(walked.end.damaged_places, 1);
  EXPECT_EQ(walked.end.lost_bytes,
            static_cast<std::int64_t>(file.find(tests::Id(kCluster), third) - third));
}

TEST(MatroskaWalk, AClusterIdInAPictureIsNoCluster) {
  std::string file =
      Matroska({Element(kCluster, Uint(0xE7, 0) + SimpleBlock(1, 0) +
                                      Element(0xA3, tests::BlockBody(1, 40, 0,
                                                                     "\x1f\x43\xb6\x75"
                                                                     "abcd"))),
                Element(kCluster, ClusterContent(200, 1))});
  file.replace(file.find(SimpleBlock(1, 0)), 1, 1, '\0');
  EXPECT_THAT(WalkOver(file).Times(0), testing::ElementsAre(200));
}

TEST(MatroskaWalk, AClusterThatClaimsTooMuchEndsWhereTheNextBegins) {
  std::string file = TwoClusters();
  const auto size_at = file.find(tests::Id(kCluster)) + 4;
  file.replace(size_at, 8, Bytes(std::uint64_t{1} << 56 | (file.size() - size_at - 8), 8));
  EXPECT_EQ(WalkOver(file).Times(0).size(), 10U);
}

TEST(MatroskaWalk, AFileThatEndsEarlyIsReadToItsEnd) {
  const std::string file = TwoClusters();
  for (const std::size_t left : {std::size_t{1}, std::size_t{15}, std::size_t{31}}) {
    const Walked walked = WalkOver(file.substr(0, file.size() - left));
    EXPECT_EQ(walked.blocks.size(), 19U);
    EXPECT_TRUE(walked.end.cut);
    EXPECT_EQ(walked.end.damaged_places, 0);
  }
}

TEST(MatroskaWalk, FilesOneBehindTheOtherAreReadWhereTheirTracksAreTheSame) {
  const std::string other =
      EbmlHeader() + Element(kSegment, Element(0x1654AE6B, TrackEntry(1, 1, "V_VP9")) +
                                           Element(kCluster, ClusterContent(0, 5)));
  EXPECT_EQ(WalkOver(TwoClusters() + TwoClusters()).blocks.size(), 40U);
  const Walked walked = WalkOver(TwoClusters() + other);
  EXPECT_EQ(walked.blocks.size(), 20U);
  EXPECT_EQ(walked.end.other_document, static_cast<std::int64_t>(TwoClusters().size()));
}

TEST(MatroskaWalk, OtherFormsAreLeftToOthers) {
  const std::string content = Tracks() + Element(kCluster, ClusterContent(0, 1));
  EXPECT_TRUE(WalkOver(EbmlHeader() + Element(kSegment, content)).head);
  EXPECT_FALSE(WalkOver(EbmlHeader("other") + Element(kSegment, content)).head);
  EXPECT_FALSE(WalkOver(EbmlHeader("matroska", 9) + Element(kSegment, content)).head);
  EXPECT_FALSE(WalkOver(EbmlHeader() + Element(kSegment, Element(kCluster, "") + content)).head);
  EXPECT_FALSE(WalkOver("RIFF").head);
  EXPECT_FALSE(WalkOver("").head);
  const Walked packed = WalkOver(
      EbmlHeader() +
      Element(kSegment, Element(0x1654AE6B, TrackEntry(1, 1, "V_VP9", Element(0x6D80, "")))));
  ASSERT_TRUE(packed.head);
  EXPECT_FALSE(packed.head->tracks[0].plain);
}

TEST(MatroskaWalk, BlocksOfNoTrackAndOfNoTimeAreCounted) {
  const Walked walked =
      WalkOver(Matroska({Element(kCluster, SimpleBlock(1, 0) + SimpleBlock(7, 0))}));
  ASSERT_EQ(walked.blocks.size(), 1U);
  EXPECT_FALSE(walked.blocks[0].at);
  EXPECT_EQ(walked.end.strange_blocks, 1);
}

TEST(MatroskaWalk, TellsHowFarItIsAndStopsWhereNoClusterBegins) {
  ZeroTail source(TwoClusters(), 64 * kMiB);
  ForwardBytes bytes(source);
  const auto head = ReadMatroskaHead(bytes, 0);
  ASSERT_TRUE(head);
  std::stop_source stop;
  std::vector<std::int64_t> reached;
  const MatroskaEnd end = WalkMatroska(
      bytes, *head, stop.get_token(), [](const MatroskaBlock&) {},
      [&](std::int64_t at) {
        reached.push_back(at);
        if (at > 20 * kMiB) {
          stop.request_stop();
        }
      });
  EXPECT_TRUE(end.stopped);
  EXPECT_GE(reached.size(), 3U);
  EXPECT_TRUE(std::is_sorted(reached.begin(), reached.end()));
  EXPECT_LT(source.furthest(), 32 * kMiB);
}

TEST(MatroskaWalk, StopsBeforeTheNextElement) {
  const std::string file = TwoClusters();
  MemoryBytes source(View(file));
  ForwardBytes bytes(source);
  const auto head = ReadMatroskaHead(bytes, 0);
  ASSERT_TRUE(head);
  std::stop_source stop;
  int blocks = 0;
  const auto take = [&](const MatroskaBlock&) { blocks += stop.request_stop() ? 1 : 100; };
  const MatroskaEnd end = WalkMatroska(bytes, *head, stop.get_token(), take, [](std::int64_t) {});
  EXPECT_TRUE(end.stopped);
  EXPECT_EQ(blocks, 1);
}

TEST(MatroskaWalk, ZerosUpToTheEndCutWhatIsRecorded) {
  const std::string file = TwoClusters();
  const std::string zeros(3 * kMiB, '\0');
  // Whole clusters, then zeros behind the segment.
  const MatroskaEnd behind = WalkOver(file + zeros).end;
  EXPECT_FALSE(behind.cut);
  EXPECT_TRUE(behind.lost_to_end);
  EXPECT_EQ(behind.damaged_at, static_cast<std::int64_t>(file.size()));
  EXPECT_EQ(behind.lost_bytes, 3 * kMiB);
  // The last cluster, whose size is told, is not all written.
  const auto last = file.rfind(tests::Id(0xA3) + "\x01");
  const Walked inside = WalkOver(file.substr(0, last) + zeros);
  EXPECT_EQ(inside.blocks.size(), 19U);
  EXPECT_TRUE(inside.end.cut);
  EXPECT_TRUE(inside.end.lost_to_end);
  EXPECT_EQ(inside.end.damaged_places, 1);
}

TEST(MatroskaWalk, DamageInTheLastClusterOfAWholeFileCutsNothing) {
  std::string file = TwoClusters();
  file.replace(file.rfind(tests::Id(0xA3) + "\x01"), 3, 3, '\0');
  const Walked walked = WalkOver(file);
  EXPECT_EQ(walked.blocks.size(), 19U);
  EXPECT_TRUE(walked.end.lost_to_end);
  EXPECT_FALSE(walked.end.cut);
  EXPECT_FALSE(WalkOver(TwoClusters()).end.lost_to_end);
}

TEST(MatroskaWalk, ASegmentThatTellsTooLittleIsReadOnWithoutDamage) {
  const std::string clusters =
      Element(kCluster, ClusterContent(0, 5)) + Element(kCluster, ClusterContent(200, 5));
  const std::string content = Tracks() + clusters;
  // Ends inside the second cluster, where it begins, and inside the first.
  const std::size_t second = content.rfind(tests::Id(kCluster));
  for (const std::size_t told : {second + 40, second, Tracks().size() + 40}) {
    const Walked walked = WalkOver(EbmlHeader() + tests::Id(kSegment) +
                                   Bytes(told | std::uint64_t{1} << 56, 8) + content);
    EXPECT_EQ(walked.blocks.size(), 20U) << told;
    EXPECT_EQ(walked.end.damaged_places, 0) << told;
    EXPECT_EQ(walked.end.damaged_at, -1) << told;
    EXPECT_FALSE(walked.end.cut) << told;
  }
}

TEST(MatroskaWalk, LengthsOfLacedFramesStayCountable) {
  // The least TimestampScale, the longest DefaultDuration that is taken, the most frames in a lace.
  const std::string lace =
      tests::BlockBody(1, 0, 0x04, std::string("\xff") + std::string(256, 'p'));
  const Walked walked = WalkOver(
      EbmlHeader() +
      Element(kSegment, Element(0x1549A966, Uint(0x2AD7B1, 1)) +
                            Element(0x1654AE6B, TrackEntry(1, 1, "V_VP9",
                                                           Uint(0x23E383, 1'000'000'000'000'000))) +
                            Element(kCluster, Uint(0xE7, 0) + Element(0xA3, lace))));
  ASSERT_EQ(walked.blocks.size(), 1U);
  EXPECT_EQ(walked.blocks[0].frames, 256);
  std::int64_t product = 0;
  EXPECT_FALSE(__builtin_mul_overflow(TicksOf(walked.blocks[0], *walked.head),
                                      walked.blocks[0].frames, &product));
  MatroskaBlock told = walked.blocks[0];
  told.duration = 60;
  EXPECT_EQ(TicksOf(told, *walked.head), 60);
  const Walked usual = WalkOver(TwoClusters());
  EXPECT_EQ(TicksOf(usual.blocks[0], *usual.head), 40);
}

TEST(MatroskaHead, TooManyTracksEndItAtOnce) {
  const std::string entry = TrackEntry(1, 1, "V_VP9");
  std::string half;
  for (int i = 0; i < 128; ++i) {
    half += entry;
  }
  const std::string tracks = Element(0x1654AE6B, half);
  const std::string cluster = Element(kCluster, ClusterContent(0, 1));
  const auto head = WalkOver(EbmlHeader() + Element(kSegment, tracks + tracks + cluster)).head;
  ASSERT_TRUE(head);
  EXPECT_EQ(head->tracks.size(), 256U);
  // One more, in an element of its own, and an attachment between that and the first cluster.
  const std::string more = tracks + tracks + Element(0x1654AE6B, entry) +
                           Element(0x1941A469, std::string(16 * kMiB, 'a')) + cluster;
  const std::string file = EbmlHeader() + Element(kSegment, more);
  ZeroTail source(file, static_cast<std::int64_t>(file.size()));
  ForwardBytes bytes(source);
  EXPECT_FALSE(ReadMatroskaHead(bytes, 0));
  EXPECT_LT(source.furthest(), 8 * kMiB);
}

TEST(MatroskaHead, TooManyElementsBeforeTheFirstClusterAreNotTakenAsTheEnd) {
  const std::string cluster = Element(kCluster, ClusterContent(0, 1));
  const auto with = [&](int voids) {
    std::string content = Tracks();
    for (int i = 0; i < voids; ++i) {
      content += Element(0xEC, "");
    }
    return WalkOver(EbmlHeader() + Element(kSegment, content + cluster));
  };
  EXPECT_EQ(with(9'000).blocks.size(), 2U);
  EXPECT_FALSE(with(10'001).head);
}

TEST(OpusPacket, CarriesWhatItsFirstBytesSay) {
  // RFC 6716, table 2 and 3.2.
  EXPECT_DOUBLE_EQ(OpusSeconds(3 << 3, 0), 0.060);
  EXPECT_DOUBLE_EQ(OpusSeconds(13 << 3, 0), 0.020);
  EXPECT_DOUBLE_EQ(OpusSeconds(31 << 3 | 1, 0), 0.040);
  EXPECT_DOUBLE_EQ(OpusSeconds(16 << 3 | 3, 0x80 | 7), 0.0175);
}

}  // namespace
}  // namespace probes
