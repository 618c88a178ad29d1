// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/encode_sharing.h"

#include <algorithm>
#include <tuple>

namespace profiles {
namespace {

auto Asked(const Output& output) {
  return std::tie(output.takes, output.raster.width, output.raster.height, output.rate,
                  output.codec, output.bitrate_kbps, output.encoder, output.effort);
}

}  // namespace

bool SameEncode(const Output& one, const Output& other) {
  return Asked(one) == Asked(other);
}

std::vector<std::vector<std::size_t>> Encodes(const std::vector<Output>& outputs) {
  std::vector<std::vector<std::size_t>> encodes;
  for (std::size_t i = 0; i < outputs.size(); ++i) {
    const auto same =
        std::find_if(encodes.begin(), encodes.end(), [&](const std::vector<std::size_t>& encode) {
          return SameEncode(outputs[encode.front()], outputs[i]);
        });
    if (same == encodes.end()) {
      encodes.push_back({i});
    } else {
      same->push_back(i);
    }
  }
  return encodes;
}

std::vector<Output> OnePerEncode(const std::vector<Output>& outputs) {
  std::vector<Output> first;
  for (const std::vector<std::size_t>& encode : Encodes(outputs)) {
    first.push_back(outputs[encode.front()]);
  }
  return first;
}

std::string EncodeName(const std::vector<Output>& outputs,
                       const std::vector<std::size_t>& of_encode) {
  std::string name;
  for (const std::size_t i : of_encode) {
    name += (name.empty() ? "" : " + ") + outputs[i].name;
  }
  return name;
}

}  // namespace profiles
