// SPDX-License-Identifier: Apache-2.0
//
// Finds an encode and its harder twin among the costs, by their names.

#include "report/content_cost.h"

#include <map>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/words.h"
#include "report/quantities.h"

namespace report {
namespace {

/// "1280x720 libx264 low talk 3000 kb/s", as the costs program names an encode.
struct EncodeName {
  std::string encode;   // "1280x720 libx264 low"
  std::string content;  // "talk"
  std::string rate;     // "3000 kb/s"
};

std::optional<EncodeName> ParseName(std::string_view detail) {
  const auto words = base::SplitWords(detail);
  if (words.size() != 6) {
    return std::nullopt;
  }
  return EncodeName{fmt::format("{} {} {}", words[0], words[1], words[2]), std::string(words[3]),
                    fmt::format("{} {}", words[4], words[5])};
}

std::string_view ContentWord(profiles::Content content) {
  return content == profiles::Content::kClip ? "the user's own clip" : profiles::ToWord(content);
}

std::string ShownText(const profiles::Profile& profile) {
  std::map<profiles::Content, std::int64_t> sources;
  for (const profiles::Source& source : profile.sources) {
    ++sources[source.content];
  }
  std::string text;
  for (const auto& [content, count] : sources) {
    text += fmt::format("{}{} ({})", text.empty() ? "" : ", ", ContentWord(content),
                        Plural(count, "source"));
  }
  return text;
}

std::string HarderText(const HarderPictures& pictures) {
  const std::string compared =
      fmt::format("{} instead of {} ms a picture", FormatNumber(pictures.harder_cpu_ms),
                  FormatNumber(pictures.shown_cpu_ms));
  if (pictures.harder_cpu_ms <= pictures.shown_cpu_ms) {
    return fmt::format("With {} pictures the same encode ({}) would take no more CPU: {}.",
                       pictures.harder, pictures.encode, compared);
  }
  return fmt::format("With {} pictures the same encode ({}) would take {} more CPU: {}.",
                     pictures.harder, pictures.encode, FormatPercent((pictures.Times() - 1) * 100),
                     compared);
}

}  // namespace

std::optional<HarderPictures> HarderPicturesOf(const bench::CostTable& costs) {
  for (const bench::CostEntry& entry : costs.entries) {
    const auto harder = ParseName(entry.detail);
    if (entry.stage != "encode harder" || !harder || entry.cpu_ms <= 0) {
      continue;
    }
    for (const bench::CostEntry& other : costs.entries) {
      const auto shown = ParseName(other.detail);
      if (other.stage == "encode" && shown && shown->encode == harder->encode &&
          shown->rate == harder->rate && other.cpu_ms > 0) {
        return HarderPictures{harder->encode, shown->content, harder->content, other.cpu_ms,
                              entry.cpu_ms};
      }
    }
  }
  return std::nullopt;
}

std::vector<std::string> ContentLines(const profiles::Profile& profile,
                                      const std::optional<bench::CostTable>& costs) {
  std::vector<std::string> lines;
  if (!profile.sources.empty()) {
    lines.push_back("Pictures that the cameras showed: " + ShownText(profile) + ".");
  }
  if (const auto harder = costs ? HarderPicturesOf(*costs) : std::nullopt) {
    lines.push_back(HarderText(*harder));
  }
  return lines;
}

}  // namespace report
