#include "bench/encoder_options.h"

#include <array>
#include <string_view>

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

}  // namespace

std::vector<std::pair<std::string, std::string>> EncoderOptions(const std::string& encoder,
                                                                profiles::Effort effort) {
  std::vector<std::pair<std::string, std::string>> options;
  for (const EffortWords& words : kEffortWords) {
    if (words.encoder == encoder) {
      options.emplace_back(words.option, words.by_effort[static_cast<std::size_t>(effort)]);
    }
  }
  if (encoder == "libx265") {
    options.emplace_back("x265-params", "log-level=none");
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
