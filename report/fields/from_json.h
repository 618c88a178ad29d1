// SPDX-License-Identifier: Apache-2.0
//
// Reads stored values back strictly; the first fault is kept with its JSON pointer.

#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "base/reading.h"
#include "base/result.h"
#include "bench/data/results.h"
#include "probes/data/inventory.h"
#include "report/fields/fields.h"
#include "report/fields/words.h"

namespace report::stored {

/// Whether files of before do without the whole of it. It holds readings alone, or what they
/// explain: made anew, it says of everything that it was not read.
template <typename T>
inline constexpr bool kMayBeMissing =
    std::is_same_v<T, probes::BoardInventory> || std::is_same_v<T, probes::DiskInventory> ||
    std::is_same_v<T, probes::SoundInventory>;

/// Accounts whose numbers are added up, over a run's seconds and over its cameras and outputs.
template <typename T>
inline constexpr bool kIsAddedUp =
    std::is_same_v<T, bench::OutputLedger> || std::is_same_v<T, bench::FeedLedger> ||
    std::is_same_v<T, bench::DropRun> || std::is_same_v<T, bench::StageCost>;
/// Most that one number of them may be: beyond any run's frames and bytes, and a day's sums fit 64
/// bits.
inline constexpr std::int64_t kMostAddedUp = 100'000'000'000'000;

/// Walks a JSON value into structs. Keys that it does not know are passed
/// over; a missing key, unless of a reading or of what may be absent, or a value of the wrong type
/// is an error. After the first error nothing more is read.
class StoredReader {
 public:
  using Value = nlohmann::json;

  explicit StoredReader(std::string origin) : origin_(std::move(origin)) {}

  const std::optional<base::Error>& error() const { return error_; }

  /// The member `key` of `object` into `into`.
  template <typename T>
  void Member(const Value& object, const char* key, T& into) {
    if (error_) {
      return;
    }
    path_.emplace_back(key);
    if (!object.is_object()) {
      path_.pop_back();
      Fail(object, "an object");
      return;
    }
    const auto found = object.find(key);
    if (found == object.end()) {
      Missing(into);
    } else {
      Read(*found, into);
    }
    path_.pop_back();
  }

  /// Notes that `found` is not what is allowed at the present place.
  void Fail(const Value& found, const std::string& allowed);

 private:
  template <typename T>
  void Read(const Value& found, std::vector<T>& into) {
    if (!found.is_array()) {
      Fail(found, "a list");
      return;
    }
    into.clear();
    into.reserve(found.size());
    for (std::size_t i = 0; i < found.size() && !error_; ++i) {
      path_.push_back(std::to_string(i));
      Read(found[i], into.emplace_back());
      path_.pop_back();
    }
  }

  template <typename T>
  void Read(const Value& found, std::optional<T>& into) {
    into.reset();
    if (!found.is_null()) {
      T value{};
      Read(found, value);
      into = std::move(value);
    }
  }

  template <typename T>
  void Read(const Value& found, base::Reading<T>& into) {
    if (found.is_object()) {
      std::string why;
      Member(found, "unknown", why);
      into = base::Reading<T>::Unknown(std::move(why));
      return;
    }
    T value{};
    Read(found, value);
    into = base::Reading<T>(std::move(value));
  }

  template <typename T>
  void Read(const Value& found, T& into) {
    if constexpr (HasFields<T>) {
      const std::int64_t most = std::exchange(most_, kIsAddedUp<T> ? kMostAddedUp : most_);
      EachField([&](const char* key, auto& field) { Member(found, key, field); }, into);
      most_ = most;
    } else {
      static_assert(std::is_enum_v<T>);
      const auto* word = found.get_ptr<const std::string*>();
      const std::optional<T> known = word ? FromWord<T>(*word) : std::nullopt;
      if (known) {
        into = *known;
      } else {
        Fail(found, "one of " + AllWords<T>());
      }
    }
  }

  void Read(const Value& found, std::string& into);
  void Read(const Value& found, bool& into);
  void Read(const Value& found, double& into);
  void Read(const Value& found, int& into);
  void Read(const Value& found, std::int64_t& into);

  template <typename T>
  void Missing(T& into) {
    if constexpr (kMayBeMissing<T>) {
      into = T();
    } else {
      FailMissing();
    }
  }
  /// Versions before this one told less: what they could not know is unknown, and no fault.
  template <typename T>
  void Missing(base::Reading<T>& into) {
    into = base::Reading<T>::Unknown("not in this file");
  }
  template <typename T>
  void Missing(std::optional<T>& into) {
    into.reset();
  }
  void FailMissing();
  void Note(std::string detail);
  /// A whole number in 0..`most`, or -1 where nothing counts it; nothing stored is below that.
  std::int64_t Whole(const Value& found, std::int64_t most);

  std::string origin_;
  std::vector<std::string> path_;
  std::optional<base::Error> error_;
  std::int64_t most_ = std::numeric_limits<std::int64_t>::max();  // of a whole number, here
};

}  // namespace report::stored
