// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/change.h"

#include <algorithm>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/stream_url.h"
#include "profiles/text/json_text.h"
#include "profiles/text/key_hints.h"
#include "profiles/text/reader.h"
#include "profiles/words.h"

namespace profiles {
namespace {

using base::Error;
using base::ErrorKind;

Error Wrong(const std::string& change, std::string detail) {
  return {ErrorKind::kInvalid, "\"" + base::Printable(WithMaskedUrls(change), 120) + "\"",
          std::move(detail)};
}

/// The parts of "WHERE.WHAT=VALUE"; a name may have dots.
struct Parts {
  std::string where;
  std::string what;
  std::string value;
};

base::Result<Parts> Split(const std::string& change) {
  const std::size_t equals = change.find('=');
  if (equals == std::string::npos || equals == 0 || equals + 1 == change.size()) {
    return Wrong(change, fmt::format("allowed: {}", kChangeForm));
  }
  const std::string left = change.substr(0, equals);
  Parts parts;
  parts.value = std::string(base::Trim(change.substr(equals + 1)));
  const std::size_t dot = left.rfind('.');
  parts.where = std::string(base::Trim(left.substr(0, dot)));
  parts.what = dot == std::string::npos ? "" : std::string(base::Trim(left.substr(dot + 1)));
  return parts;
}

/// A number where it is one, as profiles write it.
Json ValueOf(const std::string& text) {
  const auto number = base::ParseInt(text);
  return number ? Json(*number) : Json(text);
}

/// What a change is made to: objects of the profile's JSON, and the keys that may be changed there.
struct Target {
  std::vector<Json*> objects;
  std::vector<std::string> keys;
};

const std::vector<std::string>& PictureKeys() {
  static const std::vector<std::string> keys{"raster", "rate"};
  return keys;
}

const std::vector<std::string>& SourceKeys() {
  static const std::vector<std::string> keys{"raster",       "rate",    "pixel_format", "codec",
                                             "bitrate_kbps", "content", "device"};
  return keys;
}

const std::vector<std::string>& OutputKeys() {
  static const std::vector<std::string> keys{"raster",  "rate",   "codec",     "bitrate_kbps",
                                             "encoder", "effort", "container", "folder"};
  return keys;
}

/// Entries of a list of which `key` has this value; all of them for an empty key.
std::vector<Json*> Entries(Json& list, const char* key, const std::string& value) {
  std::vector<Json*> found;
  for (Json& entry : list) {
    if (*key == '\0' || entry[key] == value) {
      found.push_back(&entry);
    }
  }
  return found;
}

Target FindTarget(Json& profile, const std::string& where) {
  if (where == "production") {
    return {{&profile}, {"duration_minutes", "displays"}};
  }
  if (where == "program" || where == "multiview") {
    Json& picture = profile[where];
    return {picture.is_object() ? std::vector<Json*>{&picture} : std::vector<Json*>{},
            PictureKeys()};
  }
  if (where == "sources") {
    return {Entries(profile["sources"], "", ""), SourceKeys()};
  }
  if (where == "outputs") {
    return {Entries(profile["outputs"], "", ""), OutputKeys()};
  }
  for (const auto& [word, kind] : {std::pair{"recordings", "recording"},
                                   std::pair{"streams", "stream"}, std::pair{"isos", "iso"}}) {
    if (where == word) {
      return {Entries(profile["outputs"], "kind", kind), OutputKeys()};
    }
  }
  auto outputs = Entries(profile["outputs"], "name", where);
  return outputs.empty() ? Target{Entries(profile["sources"], "name", where), SourceKeys()}
                         : Target{std::move(outputs), OutputKeys()};
}

/// What an output takes, as JSON with raster and rate; null where it is not there.
const Json* TakenBy(const Json& profile, const Json& output) {
  for (const char* const drawn : {"program", "multiview"}) {
    if (output["takes"] == drawn) {
      return profile[drawn].is_object() ? &profile[drawn] : nullptr;
    }
  }
  for (const Json& source : profile["sources"]) {
    if (source["name"] == output["takes"]) {
      return &source;
    }
  }
  return nullptr;
}

/// Outputs that had the picture of what they take have its new one.
void Follow(const Json& before, Json& after, const std::string& what) {
  for (std::size_t i = 0; i < before["outputs"].size(); ++i) {
    const Json& output = before["outputs"][i];
    const Json* const was = TakenBy(before, output);
    const Json* const is = TakenBy(after, output);
    const bool untouched = after["outputs"][i][what] == output[what];
    if (was != nullptr && is != nullptr && untouched && (*was)[what] == output[what]) {
      after["outputs"][i][what] = (*is)[what];
    }
  }
}

std::vector<std::string> Places(const Profile& profile) {
  std::vector<std::string> places{"production", "program",    "multiview", "sources",
                                  "outputs",    "recordings", "streams",   "isos"};
  for (const Source& source : profile.sources) {
    places.push_back(source.name);
  }
  for (const Output& output : profile.outputs) {
    places.push_back(output.name);
  }
  return places;
}

base::Result<Profile> Read(const Json& json, const std::string& change) {
  auto changed = ParseProfile(json.dump(-1, ' ', false, Json::error_handler_t::replace), "");
  if (!changed) {
    const std::string& where = changed.error().where;
    const std::size_t pointer = where.find('/');
    return Wrong(change, (pointer == std::string::npos ? "" : where.substr(pointer) + ": ") +
                             changed.error().detail);
  }
  return changed;
}

}  // namespace

base::Result<Profile> WithChange(const Profile& profile, const std::string& change) {
  const auto parts = Split(change);
  if (!parts) {
    return parts.error();
  }
  const Json before = Json::parse(ToJsonText(profile), nullptr, false);
  Json after = before;
  if (parts->where == "multiview" && parts->what.empty() && parts->value == "none") {
    after["multiview"] = nullptr;
    return Read(after, change);
  }
  const Target target = FindTarget(after, parts->where);
  if (target.objects.empty()) {
    const auto nearest = base::NearestWord(parts->where, Places(profile));
    return Wrong(change, fmt::format("the production has no \"{}\"{}; allowed: {}",
                                     base::Printable(WithMaskedUrls(parts->where), 60),
                                     nearest ? fmt::format(" (nearest: \"{}\")", *nearest) : "",
                                     QuotedList(Places(profile))));
  }
  if (std::find(target.keys.begin(), target.keys.end(), parts->what) == target.keys.end()) {
    return Wrong(change, fmt::format("found \"{}\" of {}; allowed: {}",
                                     base::Printable(WithMaskedUrls(parts->what), 60),
                                     base::Printable(WithMaskedUrls(parts->where), 60),
                                     QuotedList(target.keys)));
  }
  for (Json* const object : target.objects) {
    const bool stream = parts->what == "folder" && object->value("kind", "") == "stream";
    if (!stream) {
      (*object)[parts->what] = ValueOf(parts->value);
    }
  }
  if (parts->what == "raster" || parts->what == "rate") {
    Follow(before, after, parts->what);
  }
  return Read(after, change);
}

}  // namespace profiles
