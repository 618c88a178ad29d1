// SPDX-License-Identifier: Apache-2.0
//
// Evidence with every member filled from a seeded generator.

#pragma once

#include <cstdint>
#include <optional>
#include <random>
#include <string>
#include <type_traits>
#include <vector>

#include "report/fields/bench.h"
#include "report/fields/from_json.h"
#include "report/fields/probes.h"
#include "report/fields/report.h"
#include "report/fields/words.h"
#include "tests/support/sample_verdict.h"

namespace report::stored {

/// Fills any stored value; in namespace report::stored so that EachField is found.
class RandomFiller {
 public:
  explicit RandomFiller(unsigned seed) : random_(seed) {}

  template <typename T>
  void Fill(std::vector<T>& values) {
    values.resize(random_() % 3);
    for (T& value : values) {
      Fill(value);
    }
  }
  template <typename T>
  void Fill(std::optional<T>& value) {
    value.reset();
    if (random_() % 3 != 0) {
      Fill(value.emplace());
    }
  }
  template <typename T>
  void Fill(base::Reading<T>& reading) {
    if (random_() % 3 == 0) {
      std::string why;
      Fill(why);
      reading = base::Reading<T>::Unknown(why);
      return;
    }
    T value{};
    Fill(value);
    reading = base::Reading<T>(value);
  }
  template <typename T>
  void Fill(T& value) {
    if constexpr (HasFields<T>) {
      EachField([this](const char* /*key*/, auto& field) { this->Fill(field); }, value);
    } else {
      static_assert(std::is_enum_v<T>);
      value = kWords<T>[random_() % kWords<T>.size()].first;
    }
  }
  void Fill(std::string& value) {
    static const std::vector<std::string> kTexts = {"",
                                                    "plain",
                                                    "a \"quoted\" <b>name</b>",
                                                    "tab\tand\nline",
                                                    "Kamera Nord \xc3\xbc",
                                                    "\xf0\x9f\x8e\xa5 camera"};
    value = kTexts[random_() % kTexts.size()];
  }
  void Fill(bool& value) { value = random_() % 2 == 0; }
  void Fill(int& value) { value = static_cast<int>(random_() % 0x7FFFFFFF); }
  void Fill(std::int64_t& value) {
    value = static_cast<std::int64_t>(((std::uint64_t{random_()} << 31U) ^ random_()) %
                                      (kMostAddedUp + 1));
  }
  void Fill(double& value) { value = std::uniform_real_distribution<>(-1e12, 1e12)(random_); }

 private:
  std::mt19937 random_;
};

inline report::Evidence RandomEvidence(unsigned seed) {
  report::Evidence evidence;
  evidence.profile = tests::QuarryProfile();
  RandomFiller filler(seed);
  filler.Fill(evidence.demand);
  filler.Fill(evidence.inventory);
  filler.Fill(evidence.results.costs);
  filler.Fill(evidence.results.disks);
  filler.Fill(evidence.results.rehearsal);
  filler.Fill(evidence.results.flat_out);
  filler.Fill(evidence.results.grown_flat_out);
  filler.Fill(evidence.results.contention);
  filler.Fill(evidence.results.hardware_encodes);
  filler.Fill(evidence.results.search);
  filler.Fill(evidence.telemetry);
  filler.Fill(evidence.started_at);
  filler.Fill(evidence.length);
  filler.Fill(evidence.program_version);
  return evidence;
}

}  // namespace report::stored
