// SPDX-License-Identifier: Apache-2.0

#include "report/show/blocks.h"

namespace report::show {

void Facts::Add(std::string name, std::string value, When when) {
  facts_.push_back({std::move(name), std::move(value), false, when});
}

void Facts::AddUnknown(std::string name, const std::string& reason, When when) {
  facts_.push_back({std::move(name), "unknown: " + reason, true, when});
}

void Facts::Add(std::string name, const base::Reading<std::string>& reading, When when) {
  Add(
      std::move(name), reading, [](const std::string& text) { return text; }, when);
}

void Facts::AddMore(const std::string& text) {
  if (!text.empty()) {
    Add("", text, When::kDetails);
  }
}

std::vector<Cell> CellsOf(const std::vector<std::string>& texts) {
  std::vector<Cell> cells;
  cells.reserve(texts.size());
  for (const std::string& text : texts) {
    cells.push_back({text});
  }
  return cells;
}

Part ListPart(std::string title, const std::vector<std::string>& texts) {
  if (texts.empty()) {
    return {};
  }
  return {std::move(title), {Lines{CellsOf(texts)}}};
}

std::string MarkClass(Mark mark) {
  switch (mark) {
    case Mark::kGood:
      return "good";
    case Mark::kWarn:
      return "warn";
    case Mark::kStop:
      return "stop";
    case Mark::kUnknown:
      return "unknown";
    case Mark::kNote:
      return "note";
    case Mark::kNone:
      break;
  }
  return "plain";
}

std::string MarkSign(Mark mark) {
  switch (mark) {
    case Mark::kGood:
      return "✓";
    case Mark::kWarn:
      return "▲";
    case Mark::kStop:
      return "✕";
    case Mark::kUnknown:
      return "?";
    case Mark::kNote:
      return "○";
    case Mark::kNone:
      break;
  }
  return "";
}

}  // namespace report::show
