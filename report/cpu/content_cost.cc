// SPDX-License-Identifier: Apache-2.0
//
// Finds an encode and its harder twin among the costs.

#include "report/cpu/content_cost.h"

#include <map>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/words.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// Whether all of an encode is told that its twin is known by.
bool Whole(const bench::CostEntry& entry, bench::Stage stage) {
  return entry.stage == stage && entry.of && entry.of->effort && entry.of->content &&
         entry.of->bitrate_kbps > 0 && entry.cpu_ms > 0;
}

/// The same encode, whatever it is shown.
bool Alike(bench::CostSubject one, const bench::CostSubject& other) {
  one.content = other.content;
  return one == other;
}

std::string EncodeText(const bench::CostSubject& of) {
  return fmt::format("{} {} {}", profiles::ToText({of.width, of.height}), base::Printable(of.form),
                     profiles::ToWord(*of.effort));
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
                       profiles::ToWord(pictures.harder), pictures.encode, compared);
  }
  return fmt::format("With {} pictures the same encode ({}) would take {} more CPU: {}.",
                     profiles::ToWord(pictures.harder), pictures.encode,
                     FormatPercent((pictures.Times() - 1) * 100), compared);
}

}  // namespace

std::optional<HarderPictures> HarderPicturesOf(const bench::CostTable& costs) {
  for (const bench::CostEntry& entry : costs.entries) {
    if (!Whole(entry, bench::Stage::kEncodeHarder)) {
      continue;
    }
    for (const bench::CostEntry& other : costs.entries) {
      if (Whole(other, bench::Stage::kEncode) && Alike(*other.of, *entry.of)) {
        return HarderPictures{EncodeText(*entry.of), *other.of->content, *entry.of->content,
                              other.cpu_ms, entry.cpu_ms};
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
