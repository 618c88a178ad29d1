// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/containers.h"

#include <algorithm>
#include <array>

namespace profiles {
namespace {

struct Container {
  std::string_view name;
  bool for_files;
  bool for_streams;
  std::vector<std::string> codecs;
  std::vector<std::string> schemes;
};

// What FFmpeg 5.1's muxers write and ordinary players read (the latter common
// practice): FLV has H.264 only, transport streams no AV1, MJPEG goes into
// editing containers.
const std::array<Container, 5>& Containers() {
  static const std::array<Container, 5> containers{
      Container{"mkv", true, false, {"h264", "hevc", "av1", "mjpeg"}, {}},
      Container{"mp4", true, false, {"h264", "hevc", "av1"}, {}},
      Container{"mov", true, false, {"h264", "hevc", "mjpeg"}, {}},
      Container{"mpegts", true, true, {"h264", "hevc"}, {"srt", "udp", "tcp"}},
      Container{"flv", false, true, {"h264"}, {"rtmp"}},
  };
  return containers;
}

const Container* Find(std::string_view name) {
  const auto* const found = std::find_if(Containers().begin(), Containers().end(),
                                         [&](const Container& c) { return c.name == name; });
  return found == Containers().end() ? nullptr : found;
}

}  // namespace

std::vector<std::string> ContainerNames(bool stream) {
  std::vector<std::string> names;
  for (const Container& container : Containers()) {
    if (stream ? container.for_streams : container.for_files) {
      names.emplace_back(container.name);
    }
  }
  return names;
}

std::vector<std::string> CodecsIn(std::string_view container) {
  const Container* const found = Find(container);
  return found == nullptr ? std::vector<std::string>{} : found->codecs;
}

std::vector<std::string> CodecNames() {
  return {"h264", "hevc", "av1", "mjpeg"};
}

std::vector<std::string> SchemesFor(std::string_view container) {
  const Container* const found = Find(container);
  return found == nullptr ? std::vector<std::string>{} : found->schemes;
}

}  // namespace profiles
