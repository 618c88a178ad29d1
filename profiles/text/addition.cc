// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/addition.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/stream_url.h"
#include "profiles/text/growth.h"
#include "profiles/text/json_text.h"
#include "profiles/text/key_hints.h"
#include "profiles/text/read_fields.h"
#include "profiles/text/read_sources.h"
#include "profiles/text/reader.h"
#include "profiles/words.h"

namespace profiles {
namespace {

using base::Error;
using base::ErrorKind;

Error Wrong(const std::string& form, std::string detail) {
  return {ErrorKind::kInvalid, "\"" + base::Printable(WithMaskedUrls(form), 120) + "\"",
          std::move(detail)};
}

/// A production with nothing but these sources and outputs: the reader checks them, and its
/// pointers are theirs.
base::Result<Profile> ReadAlone(const Profile& profile, const Json& sources, const Json& outputs,
                                const std::string& origin) {
  Profile frame = profile;
  frame.camera_control.clear();
  frame.sources.clear();
  frame.outputs.clear();
  Json json = Json::parse(ToJsonText(frame), nullptr, false);
  json["sources"] = sources;
  json["outputs"] = outputs;
  return ParseProfile(json.dump(-1, ' ', false, Json::error_handler_t::replace), origin);
}

/// Some output that any production may have.
Json AnyOutput() {
  return Json::array({{{"name", "Program"},
                       {"kind", "recording"},
                       {"takes", "program"},
                       {"codec", "h264"},
                       {"bitrate_kbps", 5000},
                       {"encoder", "any"},
                       {"effort", "low"},
                       {"container", "mkv"}}});
}

/// What the format limits is checked over the whole production.
base::Result<Profile> Checked(const Profile& grown, const std::string& origin) {
  auto checked = ParseProfile(ToJsonText(grown), "");
  if (!checked) {
    return Error{ErrorKind::kInvalid, base::Printable(origin, 200),
                 "the production with what is added: " + checked.error().where + ": " +
                     checked.error().detail};
  }
  return checked;
}

/// The output that an added iso is like, or nothing.
const Output* IsoModel(const Profile& profile) {
  for (const OutputKind kind : {OutputKind::kIso, OutputKind::kRecording}) {
    const auto found = std::find_if(profile.outputs.begin(), profile.outputs.end(),
                                    [kind](const Output& output) { return output.kind == kind; });
    if (found != profile.outputs.end()) {
      return &*found;
    }
  }
  return nullptr;
}

double PixelsPerSecond(const Raster& raster, const base::Rational& rate) {
  return static_cast<double>(raster.Pixels()) * base::ToDouble(rate);
}

/// As many bits a pixel as the model has, to the next 100 kb/s.
int IsoKbps(const Output* model, const Source& source) {
  constexpr double kBitsPerPixel = 0.1;  // common practice for H.264 of camera pictures
  const double per_pixel =
      model == nullptr ? kBitsPerPixel
                       : model->bitrate_kbps * 1000.0 / PixelsPerSecond(model->raster, model->rate);
  const double kbps = per_pixel * PixelsPerSecond(source.raster, source.rate) / 1000;
  const double rounded = std::ceil(kbps / 100) * 100;
  return static_cast<int>(std::clamp<double>(rounded, kLowestBitrateKbps, kHighestBitrateKbps));
}

Output IsoOf(const Profile& profile, const Source& source, int kbps) {
  const Output* const model = IsoModel(profile);
  Output iso;
  if (model != nullptr) {
    iso = *model;
  } else {
    iso.container = "mkv";
  }
  iso.kind = OutputKind::kIso;
  iso.name = "Iso: " + source.name;
  iso.takes = source.name;
  iso.raster = source.raster;
  iso.raster.width -= iso.raster.width % 2;
  iso.raster.height -= iso.raster.height % 2;
  iso.rate = source.rate;
  iso.bitrate_kbps = kbps > 0 ? kbps : IsoKbps(model, source);
  return iso;
}

/// "Added", or with the first number behind it that no source's name begins with.
std::string FreeName(const Profile& profile) {
  std::string name = "Added";
  const auto taken = [&profile, &name] {
    return std::any_of(profile.sources.begin(), profile.sources.end(),
                       [&name](const Source& source) {
                         return source.name == name || source.name.starts_with(name + " ");
                       });
  };
  for (char letter = 'B'; taken() && letter <= 'Z'; ++letter) {
    name = std::string("Added ") + letter;
  }
  return name;
}

/// What the words of a short form say.
struct Wish {
  Json source = Json::object();
  bool iso = false;
  int iso_kbps = 0;
};

/// Words behind the format, in any order: a content, "iso", "iso=KBPS".
std::optional<Error> TakeWord(const std::string& form, const std::string& word, Wish& wish) {
  const auto kbps = base::ParseInt(word);
  if (word == "iso") {
    wish.iso = true;
  } else if (word.starts_with("iso=")) {
    const auto iso_kbps = base::ParseInt(std::string_view(word).substr(4));
    if (!iso_kbps || *iso_kbps < kLowestBitrateKbps || *iso_kbps > kHighestBitrateKbps) {
      return Wrong(form,
                   fmt::format("found \"{}\"; allowed: iso={} to iso={} (kb/s)",
                               base::Printable(word, 40), kLowestBitrateKbps, kHighestBitrateKbps));
    }
    wish.iso = true;
    wish.iso_kbps = static_cast<int>(*iso_kbps);
  } else if (kbps && *kbps >= 0 && *kbps <= kHighestBitrateKbps &&
             wish.source["arrives_by"] == "network") {
    wish.source["bitrate_kbps"] = *kbps;
  } else if (FromWord<Content>(word)) {
    wish.source["content"] = word;
  } else {
    return Wrong(form,
                 fmt::format("found \"{}\"; allowed after the format: {}, iso, iso=KBPS{}",
                             base::Printable(word, 40), QuotedList(Words<Content>()),
                             wish.source["arrives_by"] == "network" ? ", a bit rate in kb/s" : ""));
  }
  return std::nullopt;
}

base::Result<Wish> ReadWish(const std::string& form, const std::vector<std::string>& words) {
  constexpr std::size_t kNeeded = 4;
  if (words.size() < kNeeded) {
    return Wrong(form, fmt::format("found {} word{}; allowed: {}", words.size(),
                                   words.size() == 1 ? "" : "s", kAdditionForm));
  }
  Wish wish;
  wish.source["raster"] = words[0];
  const auto whole_rate = base::ParseInt(words[1]);
  wish.source["rate"] = whole_rate ? Json(*whole_rate) : Json(words[1]);
  wish.source["arrives_by"] = words[2];
  const bool network = words[2] == "network";
  wish.source[network ? "codec" : "pixel_format"] = words[3];
  wish.source["content"] = "talk";
  for (std::size_t i = kNeeded; i < words.size(); ++i) {
    if (const auto error = TakeWord(form, words[i], wish)) {
      return *error;
    }
  }
  if (network && !wish.source.contains("bitrate_kbps")) {
    return Wrong(form,
                 "found no bit rate; allowed for a network source: one in kb/s behind the "
                 "codec, as in \"1920x1080 25 network h264 8000\"");
  }
  return wish;
}

/// "2x" as 2; nothing where the word is something else.
std::optional<std::int64_t> CountOf(std::string_view word) {
  return word.size() > 1 && word.ends_with('x') ? base::ParseInt(word.substr(0, word.size() - 1))
                                                : std::nullopt;
}

base::Result<Profile> WithWished(const Profile& profile, const std::string& form,
                                 const std::vector<std::string>& words, std::int64_t count) {
  auto wish = ReadWish(form, words);
  if (!wish) {
    return wish.error();
  }
  wish->source["name"] = FreeName(profile);
  wish->source["count"] = count;
  const auto alone = ReadAlone(profile, Json::array({wish->source}), AnyOutput(), "");
  if (!alone) {
    const std::string& where = alone.error().where;
    return Wrong(form, where.substr(where.rfind('/') + 1) + ": " + alone.error().detail);
  }
  Profile grown = profile;
  for (const Source& source : alone->sources) {
    grown.sources.push_back(source);
    if (wish->iso) {
      grown.outputs.push_back(IsoOf(profile, source, wish->iso_kbps));
    }
  }
  return Checked(grown, form);
}

}  // namespace

base::Result<Profile> WithAdded(const Profile& profile, const std::string& short_form) {
  constexpr std::string_view kLike = "like:";
  std::string_view text = base::Trim(short_form);
  std::int64_t count = 1;
  const std::string_view first = text.substr(0, text.find(' '));
  if (const auto counted = CountOf(first)) {
    if (*counted < 1 || *counted > kMostSources) {
      return Wrong(short_form,
                   fmt::format("found {} of it; allowed: 1x to {}x", *counted, kMostSources));
    }
    count = *counted;
    text = base::Trim(text.substr(first.size()));
  }
  if (text.starts_with(kLike)) {
    const std::string name(base::Trim(text.substr(kLike.size())));
    auto grown = WithMoreSources(profile, name, static_cast<int>(count));
    if (!grown && FindSource(profile, name) == nullptr) {
      std::vector<std::string> names;
      for (const Source& source : profile.sources) {
        names.push_back(source.name);
      }
      return Wrong(short_form,
                   "the production has no source of that name; allowed: " + QuotedList(names));
    }
    return grown;
  }
  std::vector<std::string> words;
  for (const std::string_view word : base::SplitWords(text)) {
    words.emplace_back(word);
  }
  return WithWished(profile, short_form, words, count);
}

base::Result<Profile> WithAddedJson(const Profile& profile, std::string_view json_text,
                                    const std::string& origin) {
  constexpr std::size_t kLargestBytes = 1 << 20;
  const std::string shown = base::Printable(origin, 400);
  if (json_text.size() > kLargestBytes) {
    return Error{
        ErrorKind::kInvalid, shown,
        fmt::format("found {} bytes; allowed: at most {}", json_text.size(), kLargestBytes)};
  }
  const auto json = ParseJsonText(json_text, shown);
  if (!json) {
    return json.error();
  }
  Mistakes errors(shown);
  const JsonCursor top(*json, "", errors);
  top.CheckKeys({"sources", "outputs"});
  if (top.Sound()) {
    top.Member("sources");
  }
  if (errors.error()) {
    return *errors.error();
  }
  const bool with_isos = json->contains("outputs");
  const auto alone =
      ReadAlone(profile, (*json)["sources"], with_isos ? (*json)["outputs"] : AnyOutput(), origin);
  if (!alone) {
    return alone.error();
  }
  Profile grown = profile;
  grown.sources.insert(grown.sources.end(), alone->sources.begin(), alone->sources.end());
  for (std::size_t i = 0; with_isos && i < alone->outputs.size(); ++i) {
    if (alone->outputs[i].kind != OutputKind::kIso) {
      return Error{
          ErrorKind::kInvalid, PlaceIn(shown, "/outputs"),
          fmt::format("found \"{}\" of kind \"{}\"; allowed beside added sources: \"iso\"",
                      base::Printable(alone->outputs[i].name, 60), ToWord(alone->outputs[i].kind))};
    }
    grown.outputs.push_back(alone->outputs[i]);
  }
  return Checked(grown, origin);
}

}  // namespace profiles
