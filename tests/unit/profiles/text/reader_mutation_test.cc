// SPDX-License-Identifier: Apache-2.0

#include <array>
#include <cstdint>
#include <random>
#include <string>

#include <gtest/gtest.h>

#include "profiles/demand/demand.h"
#include "profiles/text/reader.h"
#include "profiles/text/starters.h"
#include "tests/support/sample_profiles.h"

namespace profiles {
namespace {

/// Spoils text in the ways that hands and transfers do: bytes changed, lost,
/// doubled, cut off, tokens swapped for awkward ones.
class Mutator {
 public:
  explicit Mutator(std::uint32_t seed) : random_(seed) {}

  std::string Mutate(std::string text) {
    const std::size_t times = 1 + Below(3);
    for (std::size_t i = 0; i < times && !text.empty(); ++i) {
      MutateOnce(text);
    }
    return text;
  }

 private:
  std::size_t Below(std::size_t limit) { return random_() % limit; }

  void MutateOnce(std::string& text) {
    static constexpr std::array<std::string_view, 18> kAwkward{"-1",
                                                               "0",
                                                               "1e308",
                                                               "99999999999999999999",
                                                               "null",
                                                               "[]",
                                                               "{}",
                                                               "\"\"",
                                                               "\"\\u0000\"",
                                                               "\"\xc3\"",
                                                               "true",
                                                               "-0.0",
                                                               "\"1/0\"",
                                                               "\"0x0\"",
                                                               "\"every source\"",
                                                               "[[[[",
                                                               "\"\\ud800\"",
                                                               "1.5"};
    const std::size_t at = Below(text.size());
    switch (Below(6)) {
      case 0:
        text[at] = static_cast<char>(random_() & 0xFFU);
        break;
      case 1:
        text.erase(at, 1 + Below(20));
        break;
      case 2:
        text.insert(at, text.substr(Below(text.size()), 1 + Below(40)));
        break;
      case 3:
        text.resize(at);
        break;
      default: {
        // a whole value: from behind a colon to the next comma, brace or line
        const std::size_t colon = text.find(':', at);
        const std::size_t end = text.find_first_of(",}\n", colon);
        if (colon != std::string::npos && end != std::string::npos) {
          text.replace(colon + 1, end - colon - 1, kAwkward[Below(kAwkward.size())]);
        }
      }
    }
  }

  std::mt19937 random_;
};

void ExpectAnswered(const std::string& text) {
  const auto profile = ParseProfile(text, "m.json");
  if (profile) {
    // What is let in can be summed and written.
    EXPECT_GE(SumDemand(*profile).memory_pool_bytes, 0) << text;
    EXPECT_TRUE(ParseProfile(ToJsonText(*profile), "again.json")) << text;
    return;
  }
  const std::string line = profile.error().where + ": " + profile.error().detail;
  EXPECT_EQ(line.find_first_of("\n\r\x1b"), std::string::npos) << line;
  EXPECT_EQ(profile.error().where.rfind("m.json", 0), 0U) << line;
  EXPECT_FALSE(profile.error().detail.empty()) << text;
  EXPECT_LT(line.size(), 1500U) << line;
}

class MutatedProfile : public ::testing::TestWithParam<std::uint32_t> {};

TEST_P(MutatedProfile, IsReadOrRefusedInOneLine) {
  Mutator mutator(GetParam());
  for (int i = 0; i < 50; ++i) {
    for (const Starter& starter : Starters()) {
      ExpectAnswered(mutator.Mutate(std::string(starter.json)));
    }
    ExpectAnswered(mutator.Mutate(std::string(tests::GoodProfileJson())));
  }
}

INSTANTIATE_TEST_SUITE_P(Seeds, MutatedProfile, ::testing::Range(1U, 13U));

}  // namespace
}  // namespace profiles
