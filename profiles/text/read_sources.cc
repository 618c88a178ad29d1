// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/read_sources.h"

#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "profiles/pixel_formats.h"
#include "profiles/text/read_cables.h"
#include "profiles/text/read_fields.h"

namespace profiles {
namespace {

/// Any raster will do for a pixel format that is not known.
RasterStep StepOf(const JsonCursor& at, const Source& source) {
  if (!at.Has("arrives_by") || !at.Member("arrives_by").Sound() ||
      (at.Has("pixel_format") && !at.Member("pixel_format").Sound())) {
    return {1, 1};
  }
  const PixelFormat* const format = FindPixelFormat(source.pixel_format);
  return format == nullptr ? RasterStep{} : RasterStep{format->width_step, format->height_step};
}

void ReadNetworkFields(const JsonCursor& at, Source& source) {
  if (at.Has("pixel_format")) {
    at.Member("pixel_format")
        .RefuseFound("only for usb and pcie; a network source has \"codec\" and \"bitrate_kbps\"");
  }
  source.codec = at.Member("codec").OneOf({"h264", "hevc"});
  source.bitrate_kbps = ReadBitrateKbps(at.Member("bitrate_kbps"));
  if (at.Has("transport")) {
    source.transport = ReadChoice<SourceTransport>(at.Member("transport"));
  }
}

void ReadCaptureFields(const JsonCursor& at, Source& source) {
  for (const char* const key : {"codec", "bitrate_kbps", "transport"}) {
    if (at.Has(key)) {
      at.Member(key).RefuseFound("only for network; this source has \"pixel_format\"");
    }
  }
  const JsonCursor format = at.Member("pixel_format");
  std::vector<std::string> names = PixelFormatNames();
  for (std::string& alias : PixelFormatAliases()) {
    names.push_back(std::move(alias));
  }
  source.pixel_format = FindPixelFormat(format.OneOf(names))->name;
}

void ReadContent(const JsonCursor& at, Source& source) {
  if (!at.IsObject()) {
    source.content = ReadChoice<Content>(at);
    return;
  }
  at.CheckKeys({"clip"});
  source.content = Content::kClip;
  source.clip = at.Member("clip").Text(kLongestPath);
}

void RefuseReservedName(const JsonCursor& at, const std::string& name) {
  if (name == kTakesProgram || name == kTakesMultiview || name == kTakesEverySource) {
    at.RefuseFound("a name of its own; \"program\", \"multiview\" and \"every source\" are taken");
  }
}

Source ReadSource(const JsonCursor& at) {
  at.CheckKeys({"name", "count", "arrives_by", "raster", "rate", "pixel_format", "codec",
                "bitrate_kbps", "transport", "content", "device", "cable"});
  Source source;
  source.name = ReadName(at.Member("name"));
  RefuseReservedName(at.Member("name"), source.name);
  const JsonCursor arrives_by = at.Member("arrives_by");
  source.arrives_by = ReadChoice<ArrivesBy>(arrives_by);
  if (!arrives_by.Sound()) {
    // Which fields belong to it is not known.
  } else if (source.arrives_by == ArrivesBy::kNetwork) {
    ReadNetworkFields(at, source);
  } else {
    ReadCaptureFields(at, source);
  }
  source.raster = ReadRaster(at.Member("raster"), StepOf(at, source));
  source.rate = ReadRate(at.Member("rate"));
  ReadContent(at.Member("content"), source);
  if (at.Has("device")) {
    source.device = at.Member("device").Text(kLongestName);
  }
  if (at.Has("cable") && arrives_by.Sound()) {
    source.cable = ReadCable(at.Member("cable"), source.arrives_by);
  }
  return source;
}

void Spread(const JsonCursor& at, const Source& source, std::vector<Source>& sources) {
  const int count = at.Has("count") ? at.Member("count").Whole(1, kMostSources) : 1;
  if (count == 1) {
    AddNamed(at, source, sources);
    return;
  }
  for (int i = 1; i <= count; ++i) {
    Source one = source;
    one.name = fmt::format("{} {}", source.name, i);
    AddNamed(at, one, sources);
  }
}

}  // namespace

std::vector<Source> ReadSources(const JsonCursor& at) {
  std::vector<Source> sources;
  for (const JsonCursor& element : at.Elements(1, kMostSources)) {
    Spread(element, ReadSource(element), sources);
  }
  if (sources.size() > kMostSources) {
    at.Refuse(fmt::format("found {} sources with their counts; allowed: 1 to {}", sources.size(),
                          kMostSources));
  }
  return sources;
}

}  // namespace profiles
