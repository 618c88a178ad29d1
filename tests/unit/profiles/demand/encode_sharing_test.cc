// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/encode_sharing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/demand/demand.h"

namespace profiles {
namespace {

using testing::ElementsAre;

Output Asking(const char* name) {
  Output output;
  output.name = name;
  output.takes = "program";
  output.raster = {1280, 720};
  output.rate = {30000, 1001};
  output.bitrate_kbps = 6000;
  output.container = "mkv";
  return output;
}

Output Streamed(const char* name) {
  Output stream = Asking(name);
  stream.kind = OutputKind::kStream;
  stream.container = "flv";
  stream.url = "loopback";
  return stream;
}

TEST(SameEncode, WhereThePacketsGoDoesNotMatter) {
  EXPECT_TRUE(SameEncode(Asking("Tape"), Streamed("Air")));
}

TEST(SameEncode, EachPartOfTheEncodeDoes) {
  const Output asked = Asking("Tape");
  std::vector<Output> others(8, Asking("Other"));
  others[0].takes = "multiview";
  others[1].raster = {1280, 736};
  others[2].rate = 30;
  others[3].codec = "hevc";
  others[4].bitrate_kbps = 6001;
  others[5].encoder = EncoderChoice::kSoftware;
  others[6].effort = Effort::kHigh;
  others[7].raster = {1296, 720};
  for (std::size_t i = 0; i < others.size(); ++i) {
    EXPECT_FALSE(SameEncode(asked, others[i])) << i;
  }
}

TEST(Encodes, PutEveryOutputIntoOne) {
  Output other = Asking("Small");
  other.raster = {640, 360};
  const std::vector<Output> outputs{Asking("Tape"), other, Streamed("Air"), Streamed("Air 2")};
  EXPECT_THAT(Encodes(outputs), ElementsAre(ElementsAre(0U, 2U, 3U), ElementsAre(1U)));
  EXPECT_EQ(EncodeName(outputs, {0, 2, 3}), "Tape + Air + Air 2");
  EXPECT_EQ(OnePerEncode(outputs).size(), 2U);
  EXPECT_THAT(Encodes({}), testing::IsEmpty());
}

Profile Sharing(std::vector<Output> outputs) {
  Profile profile;
  profile.duration_minutes = 60;
  profile.program_raster = {1280, 720};
  profile.program_rate = {30000, 1001};
  profile.outputs = std::move(outputs);
  return profile;
}

TEST(SumDemand, CountsASharedEncodeOnceAndNamesItsSharers) {
  const Demand demand = SumDemand(Sharing({Asking("Tape"), Streamed("Air")}));
  EXPECT_EQ(demand.encode_sessions, 1);
  EXPECT_THAT(demand.outputs[0].shares_encode_with, ElementsAre("Air"));
  EXPECT_THAT(demand.outputs[1].shares_encode_with, ElementsAre("Tape"));
  EXPECT_GT(demand.outputs[0].disk_bytes_per_second, 0);
  EXPECT_GT(demand.outputs[1].network_bits_per_second, 0);
}

TEST(SumDemand, ASharedEncodeTakesTheMemoryOfOne) {
  Output unlike = Streamed("Air");
  unlike.bitrate_kbps = 5999;
  const Demand shared = SumDemand(Sharing({Asking("Tape"), Streamed("Air")}));
  const Demand apart = SumDemand(Sharing({Asking("Tape"), unlike}));
  const Demand alone = SumDemand(Sharing({Asking("Tape")}));
  // The second output adds its packets alone: a second of them waiting to be sent,
  // and four passes through memory.
  EXPECT_NEAR(shared.memory_pool_bytes - alone.memory_pool_bytes, 6000 * 125, 1);
  EXPECT_NEAR(shared.memory_traffic_bytes_per_second - alone.memory_traffic_bytes_per_second,
              4 * 6000 * 125, 1);
  EXPECT_GT(apart.memory_pool_bytes, shared.memory_pool_bytes + 1e6);
}

}  // namespace
}  // namespace profiles
