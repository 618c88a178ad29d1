// SPDX-License-Identifier: Apache-2.0

#include "report/compare/differences.h"

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kNotThere = "not there";
constexpr std::size_t kLongestValue = 160;

bool Among(const std::vector<std::string_view>& keys, const std::string& key) {
  return std::find(keys.begin(), keys.end(), key) != keys.end();
}

/// "memory_bytes" as "memory bytes".
std::string Spoken(std::string key) {
  std::replace(key.begin(), key.end(), '_', ' ');
  return base::Printable(key, kLongestValue);
}

/// What a reading that is not known says in its place; nothing for anything else.
const std::string* WhyUnknown(const Json& value) {
  if (!value.is_object() || value.size() != 1) {
    return nullptr;
  }
  const auto why = value.find("unknown");
  return why != value.end() && why->is_string() ? &why->get_ref<const std::string&>() : nullptr;
}

std::string ListText(const Json& list);

std::string ValueText(const Json& value) {
  if (const std::string* const why = WhyUnknown(value)) {
    return "unknown: " + base::Printable(*why, kLongestValue);
  }
  switch (value.type()) {
    case Json::value_t::string: {
      const auto& text = value.get_ref<const std::string&>();
      return text.empty() ? "none" : base::Printable(text, kLongestValue);
    }
    case Json::value_t::boolean:
      return YesNo(value.get<bool>());
    case Json::value_t::number_integer:
    case Json::value_t::number_unsigned:
      return std::to_string(value.get<std::int64_t>());
    case Json::value_t::number_float:
      return fmt::format("{:.6g}", value.get<double>());
    case Json::value_t::array:
      return ListText(value);
    case Json::value_t::null:
      return "none";
    default:
      return "there";
  }
}

std::string ListText(const Json& list) {
  std::string text;
  for (const Json& value : list) {
    text += (text.empty() ? "" : ", ") + ValueText(value);
    if (text.size() > kLongestValue) {
      return base::Printable(text, kLongestValue);
    }
  }
  return text.empty() ? "none" : text;
}

/// What an entry of a list is known by; empty: by its place only.
std::string NameOf(const Json& entry) {
  constexpr std::array kNames{"path", "address", "name", "folder", "connector", "unit", "number"};
  for (const char* const key : kNames) {
    const auto found = entry.find(key);
    if (found != entry.end() && (found->is_string() || found->is_number())) {
      return ValueText(*found);
    }
  }
  return "";
}

/// An entry with what else tells people which it is.
std::string LabelOf(const Json& entry) {
  for (const char* const key : {"product", "model", "kind", "raster"}) {
    const auto found = entry.find(key);
    if (found != entry.end() && found->is_string() &&
        !found->get_ref<const std::string&>().empty()) {
      return "there (" + ValueText(*found) + ")";
    }
  }
  return "there";
}

/// Where a value stands: the first key, and the way below it, "devices 2-1: speed mbps".
struct Place {
  std::string area;
  std::string way;

  Place Key(const std::string& key) const { return Below(": ", key); }
  Place Entry(const std::string& name) const { return Below(" ", name); }

 private:
  Place Below(const char* between, const std::string& name) const {
    if (area.empty()) {
      return {name, ""};
    }
    return {area, way.empty() ? name : way + between + name};
  }
};

class Walk {
 public:
  explicit Walk(const DifferenceRules& rules) : rules_(rules) {}

  void Objects(const Json& before, const Json& after, const Place& place) {
    for (const auto& [key, value] : before.items()) {
      if (Among(rules_.passed_over, key)) {
        continue;
      }
      const Place below = place.Key(key);
      const auto other = after.find(key);
      if (other == after.end()) {
        Add(below, ValueText(value), kNotThere);
      } else if (Among(rules_.as_a_whole, key)) {
        if (value != *other) {
          Add(below, "one way", "another way");
        }
      } else {
        Values(value, *other, below);
      }
    }
    for (const auto& [key, value] : after.items()) {
      if (!before.contains(key) && !Among(rules_.passed_over, key)) {
        Add(place.Key(key), kNotThere, ValueText(value));
      }
    }
  }

  std::vector<ChangedFact> Take() && { return std::move(changes_); }

 private:
  void Values(const Json& before, const Json& after, const Place& place) {
    const bool known = WhyUnknown(before) == nullptr && WhyUnknown(after) == nullptr;
    if (known && before.is_object() && after.is_object()) {
      Objects(before, after, place);
    } else if (IsListOfObjects(before) && IsListOfObjects(after) &&
               !(before.empty() && after.empty())) {
      Lists(before, after, place);
    } else if (!BothUnknown(before, after) && ValueText(before) != ValueText(after)) {
      Add(place, ValueText(before), ValueText(after));
    }
  }

  /// Why something is not known may change from run to run.
  static bool BothUnknown(const Json& before, const Json& after) {
    return WhyUnknown(before) != nullptr && WhyUnknown(after) != nullptr;
  }

  static bool IsListOfObjects(const Json& value) {
    return value.is_array() && std::all_of(value.begin(), value.end(),
                                           [](const Json& entry) { return entry.is_object(); });
  }

  /// Entries by name; a name that comes again gets its number behind it.
  static std::vector<std::pair<std::string, const Json*>> Named(const Json& list) {
    std::vector<std::pair<std::string, const Json*>> named;
    std::map<std::string, int> times;
    for (const Json& entry : list) {
      std::string name = NameOf(entry);
      const int time = ++times[name];
      if (name.empty() || time > 1) {
        name += (name.empty() ? "" : " ") + fmt::format("#{}", time);
      }
      named.emplace_back(std::move(name), &entry);
    }
    return named;
  }

  void Lists(const Json& before, const Json& after, const Place& place) {
    const auto old_entries = Named(before);
    const auto new_entries = Named(after);
    std::map<std::string, const Json*> to_find(new_entries.begin(), new_entries.end());
    for (const auto& [name, entry] : old_entries) {
      const Place below = place.Entry(name);
      const auto same = to_find.find(name);
      if (same == to_find.end()) {
        Add(below, LabelOf(*entry), kNotThere);
        continue;
      }
      Objects(*entry, *same->second, below);
      to_find.erase(same);
    }
    for (const auto& [name, entry] : new_entries) {
      if (to_find.contains(name)) {
        Add(place.Entry(name), kNotThere, LabelOf(*entry));
      }
    }
  }

  void Add(const Place& place, std::string before, std::string after) {
    if (changes_.size() > kMostDifferences) {
      return;
    }
    if (changes_.size() == kMostDifferences) {
      changes_.push_back({"", "more than these", "", ""});
      return;
    }
    changes_.push_back(
        {Spoken(place.area), Spoken(place.way), std::move(before), std::move(after)});
  }

  const DifferenceRules& rules_;
  std::vector<ChangedFact> changes_;
};

}  // namespace

std::vector<ChangedFact> Differences(const Json& before, const Json& after,
                                     const DifferenceRules& rules) {
  if (!before.is_object() || !after.is_object()) {
    return {};
  }
  Walk walk(rules);
  walk.Objects(before, after, {});
  return std::move(walk).Take();
}

}  // namespace report
