// SPDX-License-Identifier: Apache-2.0
//
// Numbers, records, and records in damaged bytes.

#include "probes/watch_log/bytes.h"

#include <cstdint>
#include <sstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using probes::ByteReader;
using probes::RecordScanner;
using probes::WatchRecordKind;
using testing::ElementsAre;
using testing::IsEmpty;

std::vector<std::string> Payloads(const std::string& bytes, std::int64_t* damaged = nullptr) {
  std::istringstream stream(bytes);
  RecordScanner scanner(stream);
  std::vector<std::string> payloads;
  while (const auto record = scanner.Next()) {
    payloads.emplace_back(record->payload);
  }
  if (damaged != nullptr) {
    *damaged = scanner.damaged_bytes();
  }
  return payloads;
}

std::string Record(const std::string& payload) {
  std::string bytes;
  PutRecord(bytes, WatchRecordKind::kNotRead, payload);
  return bytes;
}

TEST(Numbers, AreWrittenAsLeb128) {
  // The example of DWARF 5, figure 27 and 29 of clause 7.6: 2, 127, 128, 129, 12857.
  const std::vector<std::pair<std::uint64_t, std::string>> examples{{2, "\x02"},
                                                                    {127, "\x7f"},
                                                                    {128, std::string("\x80\x01")},
                                                                    {129, "\x81\x01"},
                                                                    {12857, "\xb9\x64"}};
  for (const auto& [value, written] : examples) {
    std::string bytes;
    probes::PutNumber(bytes, value);
    EXPECT_EQ(bytes, written) << value;
    ByteReader reader(bytes);
    EXPECT_EQ(reader.Number(), value);
    EXPECT_TRUE(reader.AtEnd());
    EXPECT_FALSE(reader.failed());
  }
}

TEST(Numbers, OfAllSizesComeBack) {
  for (const std::int64_t value : {std::int64_t{0}, std::int64_t{-1}, std::int64_t{1},
                                   std::int64_t{-64}, INT64_MIN, INT64_MAX}) {
    std::string bytes;
    probes::PutSigned(bytes, value);
    ByteReader reader(bytes);
    EXPECT_EQ(reader.Signed(), value);
    EXPECT_FALSE(reader.failed());
  }
}

TEST(Numbers, ThatDoNotFitOrEndEarlyFail) {
  for (const std::string& bytes : {std::string(), std::string("\x80"), std::string(10, '\xff'),
                                   std::string(9, '\xff') + "\x02"}) {
    ByteReader reader(bytes);
    EXPECT_EQ(reader.Number(), 0U);
    EXPECT_TRUE(reader.failed());
  }
}

TEST(Texts, LongerThanAllowedOrThanTheBytesFail) {
  std::string bytes;
  probes::PutText(bytes, "twelve bytes");
  EXPECT_EQ(ByteReader(bytes).Text(12), "twelve bytes");
  EXPECT_EQ(ByteReader(bytes).Text(11), "");
  ByteReader cut(std::string_view(bytes).substr(0, 5));
  EXPECT_EQ(cut.Text(), "");
  EXPECT_TRUE(cut.failed());
}

TEST(RecordScanner, GivesWhatWasPut) {
  std::int64_t damaged = -1;
  EXPECT_THAT(Payloads(Record("one") + Record("") + Record("three"), &damaged),
              ElementsAre("one", "", "three"));
  EXPECT_EQ(damaged, 0);
}

TEST(RecordScanner, ACutTailLosesItsRecordOnly) {
  const std::string whole = Record("one") + Record("two");
  const std::size_t first = Record("one").size();
  for (std::size_t size = 0; size <= whole.size(); ++size) {
    std::int64_t damaged = 0;
    const auto payloads = Payloads(whole.substr(0, size), &damaged);
    const std::size_t left = (size >= first ? 1U : 0U) + (size == whole.size() ? 1U : 0U);
    EXPECT_EQ(payloads.size(), left) << size;
    const std::size_t whole_bytes = left == 2 ? whole.size() : left * first;
    EXPECT_EQ(damaged, static_cast<std::int64_t>(size - whole_bytes)) << size;
  }
}

TEST(RecordScanner, AFlippedBitLosesItsRecordOnly) {
  const std::string whole = Record("one") + Record("two") + Record("three");
  const std::size_t from = Record("one").size();
  const std::size_t to = from + Record("two").size();
  for (std::size_t bit = from * 8; bit < to * 8; ++bit) {
    std::string bytes = whole;
    bytes[bit / 8] = static_cast<char>(bytes[bit / 8] ^ (1 << (bit % 8)));
    EXPECT_THAT(Payloads(bytes), ElementsAre("one", "three")) << bit;
  }
}

TEST(RecordScanner, FindsRecordsBetweenAnything) {
  std::int64_t damaged = 0;
  EXPECT_THAT(Payloads("GRPGRPLxx" + Record("one") + "GRPL\xff\xff" + Record("two"), &damaged),
              ElementsAre("one", "two"));
  EXPECT_EQ(damaged, 9 + 6);
  EXPECT_THAT(Payloads(std::string(300'000, 'G')), IsEmpty());
}

TEST(RecordScanner, TakesLargeRecordsAndNoLarger) {
  const std::string largest(probes::kMostPayloadBytes, 'x');
  EXPECT_THAT(Payloads(Record(largest) + Record("two")), ElementsAre(largest, "two"));
  EXPECT_THAT(Payloads(Record(largest + "x") + Record("two")), ElementsAre("two"));
}

}  // namespace
