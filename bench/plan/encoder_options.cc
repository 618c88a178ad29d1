// SPDX-License-Identifier: Apache-2.0

#include "bench/plan/encoder_options.h"

#include <array>
#include <string_view>

#include <fmt/format.h>

namespace bench {
namespace {

struct EffortWords {
  std::string_view encoder;
  std::string_view option;
  std::array<std::string_view, 4> by_effort;  // least, low, medium, high
};

// The option and its values in each encoder's own words (ffmpeg -h encoder=NAME).
constexpr EffortWords kEffortWords[] = {
    {"libx264", "preset", {"ultrafast", "superfast", "veryfast", "medium"}},
    {"libx265", "preset", {"ultrafast", "superfast", "veryfast", "medium"}},
    {"libsvtav1", "preset", {"12", "11", "10", "8"}},
    {"h264_nvenc", "preset", {"p1", "p2", "p4", "p6"}},
    {"hevc_nvenc", "preset", {"p1", "p2", "p4", "p6"}},
    {"av1_nvenc", "preset", {"p1", "p2", "p4", "p6"}},
    {"h264_qsv", "preset", {"veryfast", "faster", "medium", "slow"}},
    {"hevc_qsv", "preset", {"veryfast", "faster", "medium", "slow"}},
    {"h264_amf", "quality", {"speed", "speed", "balanced", "quality"}},
    {"hevc_amf", "quality", {"speed", "speed", "balanced", "quality"}},
};

/// One pool of that many threads, and pictures at a time as x265 itself
/// chooses for such a machine (getFrameThreadsCount in its threadpool.cpp).
std::string X265Threads(int threads) {
  if (threads <= 0) {
    return "";
  }
  const int pictures = threads >= 32   ? 5
                       : threads >= 16 ? 4
                       : threads >= 8  ? 3
                       : threads >= 4  ? 2
                                       : 1;
  return fmt::format(":pools={}:frame-threads={}", threads, pictures);
}

}  // namespace

std::vector<std::pair<std::string, std::string>> EncoderOptions(const std::string& encoder,
                                                                profiles::Effort effort,
                                                                int threads) {
  std::vector<std::pair<std::string, std::string>> options;
  for (const EffortWords& words : kEffortWords) {
    if (words.encoder == encoder) {
      options.emplace_back(words.option, words.by_effort[static_cast<std::size_t>(effort)]);
    }
  }
  if (encoder == "libx265") {
    options.emplace_back("x265-params", "log-level=none" + X265Threads(threads));
  }
  if (encoder == "libsvtav1" && threads > 0) {
    options.emplace_back("svtav1-params", fmt::format("lp={}", threads));
  }
  return options;
}

std::string SoftwareEncoder(const std::string& codec) {
  if (codec == "h264") {
    return "libx264";
  }
  if (codec == "hevc") {
    return "libx265";
  }
  if (codec == "av1") {
    return "libsvtav1";
  }
  return codec == "mjpeg" ? "mjpeg" : "";
}

std::string EncoderText(const std::string& encoder, profiles::Effort effort) {
  std::string text = encoder;
  for (const auto& [name, value] : EncoderOptions(encoder, effort)) {
    text.append(" ").append(name).append("=").append(value);
  }
  return text;
}

}  // namespace bench
