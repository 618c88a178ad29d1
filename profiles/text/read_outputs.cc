// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/read_outputs.h"

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/containers.h"
#include "profiles/demand/stream_url.h"
#include "profiles/text/key_hints.h"
#include "profiles/text/read_fields.h"

namespace profiles {
namespace {

/// The raster and rate of what an output takes.
struct Picture {
  Raster raster;
  base::Rational rate;
};

std::optional<Picture> PictureOf(const Profile& profile, const std::string& taken) {
  if (taken == kTakesProgram) {
    return Picture{profile.program_raster, profile.program_rate};
  }
  if (taken == kTakesMultiview) {
    return profile.multiview
               ? std::optional(Picture{profile.multiview->raster, profile.multiview->rate})
               : std::nullopt;
  }
  const Source* const source = FindSource(profile, taken);
  return source == nullptr ? std::nullopt : std::optional(Picture{source->raster, source->rate});
}

/// What an output of this kind may take, for the error.
std::vector<std::string> TakesAllowed(const Profile& profile, OutputKind kind) {
  std::vector<std::string> allowed;
  if (kind != OutputKind::kIso) {
    allowed.emplace_back(kTakesProgram);
    if (profile.multiview) {
      allowed.emplace_back(kTakesMultiview);
    }
  }
  for (const Source& source : profile.sources) {
    allowed.push_back(source.name);
  }
  allowed.emplace_back(kTakesEverySource);
  return allowed;
}

/// The names that the word of `takes` stands for: one, or all sources.
std::vector<std::string> Taken(const Profile& profile, const std::string& word) {
  if (word != kTakesEverySource) {
    return {word};
  }
  std::vector<std::string> names;
  for (const Source& source : profile.sources) {
    names.push_back(source.name);
  }
  return names;
}

void ReadContainer(const JsonCursor& at, Output& output) {
  const bool stream = output.kind == OutputKind::kStream;
  const JsonCursor container = at.Member("container");
  output.container = container.OneOf(ContainerNames(stream));
  if (!container.Sound()) {
    output.container.clear();  // what belongs to it is not known
    return;
  }
  const auto codecs = CodecsIn(output.container);
  if (at.Member("codec").Sound() &&
      std::find(codecs.begin(), codecs.end(), output.codec) == codecs.end()) {
    container.Refuse(fmt::format("found \"{}\" with codec \"{}\"; it carries: {}", output.container,
                                 output.codec, QuotedList(codecs)));
  }
}

/// A URL is repeated by scheme and host.
void RefuseUrl(const JsonCursor& at, const std::string& url, std::string_view allowed) {
  at.Refuse(fmt::format("found \"{}\"; allowed: {}", base::Printable(MaskedUrl(url), 60), allowed));
}

void ReadUrl(const JsonCursor& at, Output& output) {
  const std::string any = at.IsText() ? at.AnyText() : "";
  if (base::Printable(any, any.size()) != any) {
    RefuseUrl(at, any, "text without control characters");  // "key\n" is one of them
  }
  output.url = at.Text(kLongestPath);
  const std::string problem = UrlProblem(output.url, output.container);
  if (!problem.empty() && !output.container.empty()) {
    RefuseUrl(at, output.url, problem);
  }
}

void ReadDestination(const JsonCursor& at, Output& output) {
  if (output.kind == OutputKind::kStream) {
    if (at.Has("folder")) {
      at.Member("folder").RefuseFound("only for recordings and isos; a stream has \"url\"");
    }
    output.url = kLoopback;
    if (at.Has("url")) {
      ReadUrl(at.Member("url"), output);
    }
    return;
  }
  if (at.Has("url")) {
    const JsonCursor url = at.Member("url");
    RefuseUrl(url, url.Text(kLongestPath), "only for streams; recordings and isos have \"folder\"");
  }
  output.folder = at.Has("folder") ? at.Member("folder").Text(kLongestPath) : "";
}

/// Everything but name, takes, raster and rate, which differ when spread out.
Output ReadCommonFields(const JsonCursor& at) {
  at.CheckKeys({"name", "kind", "takes", "raster", "rate", "codec", "bitrate_kbps", "encoder",
                "effort", "container", "folder", "url"});
  Output output;
  const JsonCursor kind = at.Member("kind");
  output.kind = ReadChoice<OutputKind>(kind);
  output.codec = at.Member("codec").OneOf(CodecNames());
  output.bitrate_kbps = ReadBitrateKbps(at.Member("bitrate_kbps"));
  output.encoder = ReadChoice<EncoderChoice>(at.Member("encoder"));
  output.effort = ReadChoice<Effort>(at.Member("effort"));
  if (kind.Sound()) {
    ReadContainer(at, output);
    ReadDestination(at, output);
  }
  return output;
}

void FillPicture(const JsonCursor& at, const Profile& profile, Output& output) {
  const auto taken = PictureOf(profile, output.takes);
  if (!taken) {
    return;  // reported where `takes` was read
  }
  output.rate = at.Has("rate") ? ReadRate(at.Member("rate")) : taken->rate;
  if (at.Has("raster")) {
    output.raster = ReadRaster(at.Member("raster"), RasterStep{});
    return;
  }
  output.raster = taken->raster;
  if (!StepProblem(output.raster, RasterStep{}).empty()) {
    at.Refuse(
        fmt::format("found no \"raster\", and \"{}\" has {}; allowed: even sides, so give one",
                    output.takes, ToText(output.raster)));
  }
}

/// `pictures_known`: what may be taken was read without a mistake.
void ReadOutput(const JsonCursor& at, const Profile& profile, bool pictures_known,
                std::vector<Output>& outputs) {
  const Output common = ReadCommonFields(at);
  const std::string name = ReadName(at.Member("name"));
  const JsonCursor takes = at.Member("takes");
  if (!pictures_known || !at.Has("kind") || !at.Member("kind").Sound()) {
    // Whether there is such a picture, and of which raster, is not known.
    Output output = common;
    output.name = name;
    output.takes = takes.Text(kLongestPath);
    AddNamed(at, output, outputs);
    return;
  }
  const std::string word = takes.OneOf(TakesAllowed(profile, common.kind));
  const bool spread = word == kTakesEverySource;
  if (spread && common.kind == OutputKind::kStream && common.url != kLoopback) {
    takes.RefuseFound("one picture for a stream with a \"url\" of its own");
  }
  for (const std::string& one : Taken(profile, word)) {
    Output output = common;
    output.name = spread ? fmt::format("{}: {}", name, one) : name;
    output.takes = one;
    FillPicture(at, profile, output);
    AddNamed(at, output, outputs);
  }
}

}  // namespace

std::vector<Output> ReadOutputs(const JsonCursor& at, const Profile& profile, bool pictures_known) {
  std::vector<Output> outputs;
  for (const JsonCursor& element : at.Elements(1, kMostOutputs)) {
    ReadOutput(element, profile, pictures_known, outputs);
  }
  if (outputs.size() > kMostOutputs) {
    at.Refuse(fmt::format("found {} outputs with every source spread out; allowed: 1 to {}",
                          outputs.size(), kMostOutputs));
  }
  return outputs;
}

}  // namespace profiles
