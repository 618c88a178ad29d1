// SPDX-License-Identifier: Apache-2.0

#include "report/show/html/sheet.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <kainjow/mustache.hpp>

#include "report/explain/advice.h"
#include "report/page_files.h"
#include "report/show/html/pieces.h"
#include "report/show/rows/explanation.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using kainjow::mustache::mustache;
using kainjow::mustache::partial;

// A recording over time, drawn without script: its holes above, signs of the PC below.
constexpr double kWidth = 1000;
constexpr double kHeight = 40;
constexpr std::size_t kColumns = 250;
constexpr double kThinnest = 2.5;  // a hole of one picture must be seen
constexpr std::size_t kMostBands = 400;
constexpr int kTicks = 5;

/// In this order; a lane without points is left out.
constexpr std::array kLanes{Sign::kGrowth,          Sign::kCpuFull,        Sign::kOthers,
                            Sign::kRunWait,         Sign::kQuotaThrottled, Sign::kSteal,
                            Sign::kClockRate,       Sign::kStopped,        Sign::kWritersAsleep,
                            Sign::kDiskWriteMs,     Sign::kDiskBusy,       Sign::kIoPressure,
                            Sign::kRoomLeft,        Sign::kMajorFaults,    Sign::kMemoryPressure,
                            Sign::kRetransmits,     Sign::kNetworkDrops,   Sign::kInterrupts,
                            Sign::kWallClockStepMs, Sign::kUsbErrors,      Sign::kDiskErrors};

/// Time of the recording from 0 to `length_s`, on the width of the drawing.
struct Scale {
  double length_s = 1;
  double log_zero_s = 0;
  double X(double at_s) const { return std::clamp(at_s / length_s, 0.0, 1.0) * kWidth; }
};

std::string Clock(double seconds) {
  const auto whole = static_cast<std::int64_t>(std::llround(std::clamp(seconds, 0.0, 1e9)));
  return whole >= 3600 ? fmt::format("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60)
                       : fmt::format("{}:{:02}", whole / 60, whole % 60);
}

View BandsView(const RecordingExplanation& answer, std::size_t recording, const Scale& scale) {
  ViewList bands;
  for (const ExplainedMoment& moment : answer.moments) {
    if (moment.recording != recording || bands.size() >= kMostBands) {
      continue;
    }
    const double from = std::min(scale.X(moment.at_s), kWidth - kThinnest);
    const double to =
        std::max(scale.X(moment.at_s + moment.length_s + moment.jump_s), from + kThinnest);
    View band("x", View(fmt::format("{:.1f}", from)));
    band.set("width", View(fmt::format("{:.1f}", to - from)));
    band.set("says", View(fmt::format("{}: {}, {}", Clock(moment.at_s),
                                      moment.jump_s > 0 ? LengthText(moment)
                                                        : Plural(moment.missing, "missing frame"),
                                      moment.explanation.cause)));
    bands.emplace_back(band);
  }
  return View(bands);
}

/// The highest value in each column; below 0: not sampled.
std::vector<double> ColumnsOf(const std::vector<SignPoint>& points, const Scale& scale) {
  std::vector<double> columns(kColumns, -1);
  const double column_s = scale.length_s / static_cast<double>(kColumns);
  for (const SignPoint& point : points) {
    const double from = (point.from_s - scale.log_zero_s) / column_s;
    const double to = (point.to_s - scale.log_zero_s) / column_s;
    if (!(to > 0 && from < static_cast<double>(kColumns)) || !std::isfinite(point.value)) {
      continue;
    }
    const auto first = static_cast<std::size_t>(std::max(0.0, std::floor(from)));
    const auto last = static_cast<std::size_t>(
        std::min(static_cast<double>(kColumns - 1), std::max(0.0, std::ceil(to) - 1)));
    for (std::size_t i = first; i <= last; ++i) {
      columns[i] = std::max(columns[i], std::max(0.0, point.value));
    }
  }
  return columns;
}

/// Steps from the ground up, broken where nothing was sampled. At most 16 characters for each of
/// the columns: texts of the page are cut at 4000.
std::string PathOf(const std::vector<double>& columns, double most) {
  constexpr double kStep = kWidth / static_cast<double>(kColumns);
  std::string path;
  bool open = false;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (columns[i] < 0) {
      path += open ? fmt::format("V{:.0f}Z", kHeight) : "";
      open = false;
      continue;
    }
    // Whole units, and up: what is not nothing must be seen.
    const double height = std::ceil(std::min(1.0, columns[i] / most) * (kHeight - 2));
    path += open ? "" : fmt::format("M{:.0f} {:.0f}", static_cast<double>(i) * kStep, kHeight);
    path += fmt::format("V{:.0f}h{:.0f}", kHeight - height, kStep);
    open = true;
  }
  return open ? path + fmt::format("V{:.0f}Z", kHeight) : path;
}

/// Full height: 100 % of what is a share, else the highest value.
double MostOf(const SignWords& words, const std::vector<double>& columns) {
  const double highest = *std::max_element(columns.begin(), columns.end());
  const bool share = words.scale == 100;
  return share ? std::max(1.0, std::min(highest, 2.0)) : std::max(highest, 1e-9);
}

View LanesView(const RecordingExplanation& answer, const Scale& scale) {
  ViewList lanes;
  for (const Sign sign : kLanes) {
    const auto points = answer.signs.find({sign, ""});
    if (points == answer.signs.end()) {
      continue;
    }
    const std::vector<double> columns = ColumnsOf(points->second, scale);
    const double highest = *std::max_element(columns.begin(), columns.end());
    if (highest < 0) {
      continue;
    }
    const SignWords& words = WordsOf(sign);
    const double most = MostOf(words, columns);
    View lane("name", View(std::string(words.name)));
    lane.set("flat", View(highest == 0));
    lane.set("most", View(FormatNumber(most * words.scale) + UnitText(words)));
    lane.set("highest", View(FormatNumber(highest * words.scale) + UnitText(words)));
    lane.set("path", View(PathOf(columns, most)));
    lanes.emplace_back(lane);
  }
  return View(lanes);
}

/// Lanes of one recording; signs are there when it was placed in the log.
View TimelineView(const RecordingCase& question, const RecordingExplanation& answer,
                  std::size_t recording) {
  const RecordingDocument& document = answer.recordings[recording];
  Scale scale;
  scale.length_s = std::max(0.001, document.recording.length_s);
  const bool placed = question.log && question.places[recording].by != PlacedBy::kNothing;
  View view("name", View(document.recording.name));
  view.set("says", View(document.headline));
  view.set("bands", BandsView(answer, recording, scale));
  ViewList ticks;
  for (int i = 0; i < kTicks; ++i) {
    ticks.emplace_back(Clock(scale.length_s * i / (kTicks - 1)));
  }
  view.set("ticks", View(ticks));
  if (placed) {
    scale.log_zero_s = question.places[recording].at_s;
    view.set("lanes", LanesView(answer, scale));
  } else {
    view.set("lanes", View(false));
  }
  return view;
}

void AddFixedParts(View& page) {
  const std::vector<std::pair<std::string, std::string_view>> templates{
      {"part_facts", page_files::kFacts},
      {"part_table", page_files::kTable},
      {"part_part", page_files::kPart}};
  for (const auto& [name, text] : templates) {
    page.set(name, View(partial([text = text] { return std::string(text); })));
  }
  page.set("subtitle_tag", View("h3"));
  page.set("page_css", View(std::string(page_files::kPageCss)));
  page.set("sheet_css", View(std::string(page_files::kSheetCss)));
  page.set("print_css", View(std::string(page_files::kPrintCss)));
}

ViewList SectionsOf(const show::Sheet& sheet) {
  ViewList sections;
  for (const show::Part& part : sheet.parts) {
    if (!part.empty()) {
      View view = ToView(part);
      view.set("id", View("part-" + std::to_string(sections.size() + 1)));
      sections.emplace_back(view);
    }
  }
  return sections;
}

std::string Render(const show::Sheet& sheet, const std::string& title,
                   const std::string& program_version, const ViewList& timelines) {
  View page;
  AddFixedParts(page);
  page.set("title", View("rigproof: " + title));
  page.set("program_version", View(program_version));
  page.set("name", View(sheet.name));
  page.set("verdict", sheet.verdict.text.empty() ? View(false) : View(sheet.verdict.text));
  page.set("mark", View(MarkClass(sheet.verdict.mark)));
  page.set("sign", View(MarkSign(sheet.verdict.mark)));
  page.set("headline", View(sheet.headline));
  page.set("drawn", SectionOf("timelines", timelines));
  page.set("sections", View(SectionsOf(sheet)));
  mustache layout{std::string(page_files::kSheet)};
  layout.set_custom_escape(EscapeForPage);
  return layout.render(page);
}

}  // namespace

std::string SheetPage(const show::Sheet& sheet, const std::string& program_version) {
  return Render(sheet, sheet.name, program_version, {});
}

std::string ExplanationPage(const RecordingCase& question, const RecordingExplanation& answer) {
  ViewList timelines;
  for (std::size_t i = 0; i < question.recordings.size(); ++i) {
    timelines.emplace_back(TimelineView(question, answer, i));
  }
  return Render(SheetOf(question, answer), question.recordings.front().recording.name,
                question.program_version, timelines);
}

}  // namespace report
