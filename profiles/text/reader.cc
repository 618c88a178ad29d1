// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/reader.h"

#include <algorithm>
#include <array>
#include <fstream>
#include <optional>
#include <system_error>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/profile.h"
#include "profiles/text/json_cursor.h"
#include "profiles/text/key_hints.h"
#include "profiles/text/margin_keys.h"
#include "profiles/text/read_cables.h"
#include "profiles/text/read_fields.h"
#include "profiles/text/read_outputs.h"
#include "profiles/text/read_sources.h"
#include "profiles/text/starters.h"

namespace profiles {
namespace {

using base::Error;

// Reads what a profile says once: program, audio, multiview, margins.

constexpr int kLowestAudioKbps = 16;
constexpr int kHighestAudioKbps = 2304;  // 8 channels of 288
// An AAC frame is 1024 samples and at most 6144 bits for each channel
// (ISO/IEC 14496-3, from memory; the same bound stands in FFmpeg libavcodec/aacenc.c).
constexpr int kAacFrameSamples = 1024;
constexpr int kAacFrameBits = 6144;

double MostAacKbps(const Audio& audio) {
  return static_cast<double>(audio.channels) * kAacFrameBits * audio.sample_rate_hz /
         kAacFrameSamples / 1000;
}

/// {raster, rate}; the same shape serves program and multiview.
Multiview ReadPicture(const JsonCursor& at) {
  at.CheckKeys({"raster", "rate"});
  return Multiview{ReadRaster(at.Member("raster"), RasterStep{}), ReadRate(at.Member("rate"))};
}

/// Nothing when it is null.
std::optional<Audio> ReadAudio(const JsonCursor& at) {
  if (at.IsNull()) {
    return std::nullopt;
  }
  at.CheckKeys({"channels", "sample_rate_hz", "bitrate_kbps"});
  Audio audio;
  audio.channels = at.Member("channels").WholeOf({1, 2, 6, 8});
  audio.sample_rate_hz = at.Member("sample_rate_hz").WholeOf({44100, 48000});
  const JsonCursor bitrate = at.Member("bitrate_kbps");
  audio.bitrate_kbps = bitrate.Whole(kLowestAudioKbps, kHighestAudioKbps);
  if (at.Sound() && audio.bitrate_kbps > MostAacKbps(audio)) {
    bitrate.RefuseFound(fmt::format("at most {:.0f}, all that AAC can use for {} channels at {} Hz",
                                    MostAacKbps(audio), audio.channels, audio.sample_rate_hz));
  }
  return audio;
}

std::optional<Multiview> ReadMultiview(const JsonCursor& at) {
  return at.IsNull() ? std::nullopt : std::optional(ReadPicture(at));
}

/// Margins that are not given keep their defaults.
Margins ReadMargins(const JsonCursor& at) {
  Margins margins;
  std::vector<std::string> keys;
  keys.reserve(kMarginKeys.size());
  for (const MarginKey& key : kMarginKeys) {
    keys.emplace_back(key.name);
  }
  at.CheckKeys(keys);
  for (const MarginKey& key : kMarginKeys) {
    if (at.Has(key.name)) {
      margins.*key.member = at.Member(key.name).Number(0, key.most);
    }
  }
  return margins;
}
using base::ErrorKind;

constexpr std::uintmax_t kLargestFileBytes = 1 << 20;
constexpr int kLongestMinutes = 1440;
constexpr int kMostDisplays = 16;
constexpr std::string_view kFormat = "rigproof-profile";

Profile ReadTop(const JsonCursor& at) {
  const JsonCursor format = at.Member("format");
  format.OneOf({std::string(kFormat)});
  const JsonCursor version = at.Member("version");
  version.WholeOf({1});
  if (!format.Sound() || !version.Sound()) {
    return {};  // what else it holds, nobody can tell
  }
  at.CheckKeys({"format", "version", "name", "note", "duration_minutes", "program", "sources",
                "outputs", "audio", "multiview", "displays", "margins", "camera_control"});
  Profile profile;
  profile.name = ReadName(at.Member("name"));
  profile.note = at.Has("note") ? at.Member("note").Text(kLongestNote) : "";
  profile.duration_minutes = at.Member("duration_minutes").Whole(1, kLongestMinutes);
  const Multiview program = ReadPicture(at.Member("program"));
  profile.program_raster = program.raster;
  profile.program_rate = program.rate;
  const JsonCursor sources = at.Member("sources");
  profile.sources = ReadSources(sources);
  profile.audio = ReadAudio(at.Member("audio"));
  const JsonCursor multiview = at.Member("multiview");
  profile.multiview = ReadMultiview(multiview);
  profile.displays = at.Member("displays").Whole(0, kMostDisplays);
  if (at.Has("margins")) {
    profile.margins = ReadMargins(at.Member("margins"));
  }
  profile.outputs =
      ReadOutputs(at.Member("outputs"), profile, sources.Sound() && multiview.Sound());
  if (at.Has("camera_control")) {
    profile.camera_control =
        ReadCameraControl(at.Member("camera_control"), profile.sources, sources.Sound());
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

ProfileReading Refused(Error why) {
  return {std::nullopt, {std::move(why)}};
}

base::Result<Profile> FirstOf(ProfileReading reading) {
  if (reading.profile) {
    return *std::move(reading.profile);
  }
  return reading.mistakes.front();
}

}  // namespace

ProfileReading ParseWholeProfile(std::string_view json_text, const std::string& origin) {
  const std::string shown_origin = base::Printable(origin, 400);
  if (json_text.size() > kLargestFileBytes) {
    return Refused(Error{
        ErrorKind::kInvalid, shown_origin,
        fmt::format("found {} bytes; allowed: at most {}", json_text.size(), kLargestFileBytes)});
  }
  const auto json = ParseJsonText(json_text, shown_origin);
  if (!json) {
    return Refused(json.error());
  }
  Mistakes mistakes(shown_origin);
  Profile profile = ReadTop(JsonCursor(*json, "", mistakes));
  ProfileReading reading;
  reading.mistakes = mistakes.InOrderOf(*json);
  if (reading.mistakes.empty()) {
    reading.profile = std::move(profile);
  }
  return reading;
}

ProfileReading ReadWholeProfile(const std::filesystem::path& file_or_name) {
  const Starter* const starter = FindStarter(file_or_name.string());
  std::error_code failed;
  // A file wins over a starter of the same name; a folder (a report's, say) does not.
  if (std::filesystem::exists(file_or_name, failed) &&
      !(starter != nullptr && std::filesystem::is_directory(file_or_name, failed))) {
    const auto text = ReadSmallFile(file_or_name);
    if (!text) {
      return Refused(text.error());
    }
    ProfileReading reading = ParseWholeProfile(*text, file_or_name.string());
    if (reading.profile) {
      ResolveClips(*reading.profile, file_or_name.parent_path());
    }
    return reading;
  }
  if (starter != nullptr) {
    return ParseWholeProfile(starter->json, std::string(starter->name));
  }
  return Refused(UnknownName(file_or_name.string()));
}

base::Result<Profile> ParseProfile(std::string_view json_text, const std::string& origin) {
  return FirstOf(ParseWholeProfile(json_text, origin));
}

base::Result<Profile> ReadProfile(const std::filesystem::path& file_or_name) {
  return FirstOf(ReadWholeProfile(file_or_name));
}

}  // namespace profiles
