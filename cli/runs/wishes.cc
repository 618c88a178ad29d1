// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/wishes.h"

#include <cstdint>
#include <utility>

#include "cli/system/read_file.h"
#include "profiles/text/addition.h"
#include "profiles/text/change.h"

namespace cli {
namespace {

base::Error Invalid(std::string where, std::string detail) {
  return {base::ErrorKind::kInvalid, std::move(where), std::move(detail)};
}

base::Error AtOption(const char* option, const base::Error& error) {
  return Invalid(std::string(option) + " " + error.where, error.detail);
}

base::Result<profiles::Profile> WithOneAdded(const profiles::Profile& profile,
                                             const std::string& wish, bool files) {
  if (!files || !wish.ends_with(".json")) {
    auto grown = profiles::WithAdded(profile, wish);
    return grown ? std::move(grown) : AtOption("--add", grown.error());
  }
  constexpr std::uintmax_t kMostBytes = 1U << 20U;
  const auto text = ReadRegularFile(wish, kMostBytes, "a JSON file with \"sources\"");
  if (!text) {
    return text.error();
  }
  auto grown = profiles::WithAddedJson(profile, *text, wish);
  return grown ? std::move(grown) : Invalid(grown.error().where, grown.error().detail);
}

}  // namespace

base::Result<profiles::Profile> WithWishes(const profiles::Profile& stored, const Wishes& wishes) {
  profiles::Profile profile = stored;
  for (const std::string& wish : wishes.added) {
    auto grown = WithOneAdded(profile, wish, wishes.files);
    if (!grown) {
      return grown.error();
    }
    profile = *std::move(grown);
  }
  for (const std::string& change : wishes.changes) {
    auto changed = profiles::WithChange(profile, change);
    if (!changed) {
      return AtOption("--change", changed.error());
    }
    profile = *std::move(changed);
  }
  return profile;
}

}  // namespace cli
