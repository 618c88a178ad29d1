// SPDX-License-Identifier: Apache-2.0

#include "profiles/reader.h"

#include <algorithm>
#include <fstream>
#include <system_error>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/json_cursor.h"
#include "profiles/key_hints.h"
#include "profiles/read_cables.h"
#include "profiles/read_fields.h"
#include "profiles/read_outputs.h"
#include "profiles/read_settings.h"
#include "profiles/read_sources.h"
#include "profiles/starters.h"

namespace profiles {
namespace {

using base::Error;
using base::ErrorKind;

constexpr std::uintmax_t kLargestFileBytes = 1 << 20;
constexpr int kLongestMinutes = 1440;
constexpr int kMostDisplays = 16;
constexpr std::string_view kFormat = "rigproof-profile";

Profile ReadTop(const JsonCursor& at) {
  at.Member("format").OneOf({std::string(kFormat)});
  at.Member("version").WholeOf({1});
  at.CheckKeys({"format", "version", "name", "note", "duration_minutes", "program", "sources",
                "outputs", "audio", "multiview", "displays", "margins", "camera_control"});
  Profile profile;
  profile.name = ReadName(at.Member("name"));
  profile.note = at.Has("note") ? at.Member("note").Text(kLongestNote) : "";
  profile.duration_minutes = at.Member("duration_minutes").Whole(1, kLongestMinutes);
  const Multiview program = ReadPicture(at.Member("program"));
  profile.program_raster = program.raster;
  profile.program_rate = program.rate;
  profile.sources = ReadSources(at.Member("sources"));
  profile.audio = ReadAudio(at.Member("audio"));
  profile.multiview = ReadMultiview(at.Member("multiview"));
  profile.displays = at.Member("displays").Whole(0, kMostDisplays);
  if (at.Has("margins")) {
    profile.margins = ReadMargins(at.Member("margins"));
  }
  profile.outputs = ReadOutputs(at.Member("outputs"), profile);
  if (at.Has("camera_control")) {
    profile.camera_control = ReadCameraControl(at.Member("camera_control"), profile.sources);
  }
  return profile;
}

base::Result<std::string> ReadSmallFile(const std::filesystem::path& file) {
  const std::string shown = base::Printable(file.string(), 400);
  std::error_code failed;
  if (!std::filesystem::is_regular_file(file, failed)) {
    return Error{ErrorKind::kInvalid, shown,
                 "found no ordinary file; allowed: a profile's JSON file"};
  }
  const std::uintmax_t size = std::filesystem::file_size(file, failed);
  if (!failed && size > kLargestFileBytes) {
    return Error{
        ErrorKind::kInvalid, shown,
        fmt::format("found a file of {} bytes; allowed: at most {}", size, kLargestFileBytes)};
  }
  std::ifstream in(file, std::ios::binary);
  std::string text(kLargestFileBytes + 1, '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (!in.is_open() || in.bad()) {
    return Error{ErrorKind::kDenied, shown, "cannot be opened and read; allowed: a readable file"};
  }
  text.resize(static_cast<std::size_t>(in.gcount()));
  return text;
}

const Starter* FindStarter(std::string_view name) {
  const auto found = std::find_if(Starters().begin(), Starters().end(),
                                  [&](const Starter& starter) { return starter.name == name; });
  return found == Starters().end() ? nullptr : &*found;
}

Error UnknownName(const std::string& name) {
  std::vector<std::string> names;
  for (const Starter& starter : Starters()) {
    names.emplace_back(starter.name);
  }
  std::string detail =
      "found neither a file nor a starter profile of that name; allowed: a file, or " +
      QuotedList(names);
  if (const auto nearest = base::NearestWord(name, names)) {
    detail += fmt::format(" (nearest: \"{}\")", *nearest);
  }
  return Error{ErrorKind::kNotPresent, base::Printable(name, 400), detail};
}

/// Clips stand in the file relative to its folder; what is read no longer
/// knows that folder, so they become absolute.
void ResolveClips(Profile& profile, const std::filesystem::path& folder) {
  for (Source& source : profile.sources) {
    if (source.content == Content::kClip && std::filesystem::path(source.clip).is_relative()) {
      source.clip = std::filesystem::absolute(folder / source.clip).lexically_normal().string();
    }
  }
}

}  // namespace

base::Result<Profile> ParseProfile(std::string_view json_text, const std::string& origin) {
  const std::string shown_origin = base::Printable(origin, 400);
  if (json_text.size() > kLargestFileBytes) {
    return Error{
        ErrorKind::kInvalid, shown_origin,
        fmt::format("found {} bytes; allowed: at most {}", json_text.size(), kLargestFileBytes)};
  }
  const auto json = ParseJsonText(json_text, shown_origin);
  if (!json) {
    return json.error();
  }
  FirstError errors(shown_origin);
  Profile profile = ReadTop(JsonCursor(*json, "", errors));
  if (errors.error()) {
    return *errors.error();
  }
  return profile;
}

base::Result<Profile> ReadProfile(const std::filesystem::path& file_or_name) {
  const Starter* const starter = FindStarter(file_or_name.string());
  std::error_code failed;
  // A file wins over a starter of the same name; a folder (a report's, say) does not.
  if (std::filesystem::exists(file_or_name, failed) &&
      !(starter != nullptr && std::filesystem::is_directory(file_or_name, failed))) {
    const auto text = ReadSmallFile(file_or_name);
    if (!text) {
      return text.error();
    }
    auto profile = ParseProfile(*text, file_or_name.string());
    if (profile) {
      ResolveClips(*profile, file_or_name.parent_path());
    }
    return profile;
  }
  if (starter != nullptr) {
    return ParseProfile(starter->json, std::string(starter->name));
  }
  return UnknownName(file_or_name.string());
}

}  // namespace profiles
