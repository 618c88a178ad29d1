// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/result_answers.h"

#include <set>
#include <utility>

#include <fmt/format.h>

#include "cli/local_page/document_json.h"
#include "cli/local_page/names.h"
#include "cli/local_page/requests.h"
#include "cli/runs/comparing.h"
#include "cli/runs/stored_results.h"
#include "cli/runs/wishes.h"
#include "profiles/text/reader.h"
#include "report/predict/size.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace cli {
namespace {

constexpr std::size_t kMostCompared = 100;
constexpr std::size_t kMostOnCard = 4;

/// The name that people know a result by.
std::string ShownName(const Shelf& shelf, const std::string& name) {
  return name == kResultHere ? shelf.path().filename().string() : name;
}

/// Only the members that the card shows: a long run's series stay out of memory.
Json ReadHead(const std::string& text) {
  static const std::set<std::string> wanted = {"format",      "started_at", "length",
                                               "verdict",     "complete",   "headline",
                                               "first_limit", "profile",    "headroom"};
  const Json::parser_callback_t only_wanted = [](int depth, Json::parse_event_t event,
                                                 Json& parsed) {
    return depth != 1 || event != Json::parse_event_t::key ||
           wanted.count(parsed.get<std::string>()) != 0;
  };
  Json json = Json::parse(text, only_wanted, false);
  const bool ours =
      json.is_object() && json.contains("format") && json["format"] == "rigproof-result";
  return ours ? json : Json();
}

std::string TextOf(const Json& json, const char* key) {
  return json.is_object() && json.contains(key) && json[key].is_string()
             ? json[key].get<std::string>()
             : "";
}

double NumberOf(const Json& json, const char* key) {
  return json.is_object() && json.contains(key) && json[key].is_number() ? json[key].get<double>()
                                                                         : 0;
}

/// "cpu 82 % (margin 25 %)", tightest first, each resource once.
Json ToSpare(const Json& head) {
  Json lines = Json::array();
  std::set<std::string> told;
  if (!head.contains("headroom") || !head["headroom"].is_array()) {
    return lines;
  }
  for (const Json& row : head["headroom"]) {
    const std::string resource = TextOf(row, "resource");
    const bool known =
        row.is_object() && row.contains("headroom_percent") && row["headroom_percent"].is_number();
    if (known && lines.size() < kMostOnCard && told.insert(resource).second) {
      lines.push_back(
          fmt::format("{} {} (margin {})", resource,
                      report::FormatSpare(NumberOf(row, "headroom_percent"),
                                          NumberOf(row, "margin_percent"), NumberOf(row, "demand"),
                                          NumberOf(row, "capacity"), TextOf(row, "unit")),
                      report::FormatMarginPercent(NumberOf(row, "margin_percent"))));
    }
  }
  return lines;
}

Json CardOf(const Shelf& shelf, const std::string& name) {
  Json card{{"name", name}, {"shown", ShownName(shelf, name)}};
  const auto text = shelf.ReadResult(name, "result.json");
  const Json head = text ? ReadHead(*text) : Json();
  if (!head.is_object()) {
    card["error"] = "its result.json is no result of rigproof";
    return card;
  }
  card["production"] = head.contains("profile") ? TextOf(head["profile"], "name") : "";
  card["started_at"] = TextOf(head, "started_at");
  card["length"] = TextOf(head, "length");
  card["verdict"] = TextOf(head, "verdict");
  card["complete"] = head.contains("complete") && head["complete"] == true;
  // Older results have the whole headline only.
  card["headline"] = TextOf(head, head.contains("first_limit") ? "first_limit" : "headline");
  card["spare"] = ToSpare(head);
  return card;
}

base::Result<report::NamedDocument> ReadNamed(const Shelf& shelf, const std::string& name) {
  if (!IsResultName(name)) {
    return base::Error{base::ErrorKind::kInvalid, name, "is no name of a result"};
  }
  const auto text = shelf.ReadResult(name, "result.json");
  if (!text) {
    return text.error();
  }
  auto document = AssessStored(*text, name);
  if (!document) {
    return document.error();
  }
  return report::NamedDocument{ShownName(shelf, name), *std::move(document)};
}

Answer AnswerProfileOf(const Shelf& shelf, const std::string& name) {
  const auto named = ReadNamed(shelf, name);
  if (!named) {
    return ErrorAnswer(named.error());
  }
  Answer answer;
  answer.body = profiles::ToJsonText(named->document.evidence.profile);
  answer.download_as = named->name + " profile.json";
  return answer;
}

Answer Written(const WrittenComparison& comparison, bool as_json) {
  Answer answer;
  answer.body = as_json ? comparison.json : comparison.page;
  if (as_json) {
    answer.download_as = "comparison.json";
  } else {
    answer.type = "text/html; charset=utf-8";
    answer.trust = Trust::kReport;
  }
  return answer;
}

}  // namespace

Json ResultCards::List(const Shelf& shelf) {
  const std::lock_guard lock(mutex_);
  std::map<std::string, Card> now;
  Json list = Json::array();
  for (const std::string& name : shelf.Results()) {
    const auto stamp = shelf.ResultStamp(name);
    if (!stamp) {
      continue;
    }
    const auto known = cards_.find(name);
    Card card = known != cards_.end() && known->second.stamp == *stamp
                    ? known->second
                    : Card{*stamp, CardOf(shelf, name)};
    list.push_back(card.json);
    now.emplace(name, std::move(card));
  }
  cards_ = std::move(now);
  return list;
}

Answer AnswerResultFile(const Shelf& shelf, const std::string& name, const std::string& file) {
  if (!IsResultName(name)) {
    return ErrorAnswer({base::ErrorKind::kInvalid, name, "is no name of a result"});
  }
  if (file == "profile.json") {
    return AnswerProfileOf(shelf, name);
  }
  auto text = shelf.ReadResult(name, file);
  if (!text) {
    return ErrorAnswer(text.error());
  }
  Answer answer;
  answer.body = *std::move(text);
  answer.download_as = ShownName(shelf, name) + " " + file;
  if (file == "report.html") {
    answer.type = "text/html; charset=utf-8";
    answer.trust = Trust::kReport;
  }
  return answer;
}

Answer AnswerComparison(const Shelf& shelf, const std::vector<std::string>& names, bool as_json) {
  if (names.size() < 2 || names.size() > kMostCompared) {
    return ErrorAnswer({base::ErrorKind::kInvalid, "",
                        fmt::format("found {} results to compare; allowed: 2 to {}", names.size(),
                                    kMostCompared)});
  }
  if (names.size() == 2) {
    const auto before = ReadNamed(shelf, names.front());
    const auto after = ReadNamed(shelf, names.back());
    if (!before || !after) {
      return ErrorAnswer(before ? after.error() : before.error());
    }
    return Written(BeforeAndAfter(*before, *after), as_json);
  }
  std::vector<report::RankEntry> entries;
  for (const std::string& name : names) {
    const auto named = ReadNamed(shelf, name);
    if (!named) {
      return ErrorAnswer(named.error());
    }
    entries.push_back(report::EntryOf(*named));
  }
  return Written(Ranked(std::move(entries), {}), as_json);
}

Answer AnswerSize(const Shelf& shelf, const std::string& body) {
  const auto question = ParseSizeQuestion(body);
  if (!question) {
    return ErrorAnswer(question.error());
  }
  const auto stored = ReadNamed(shelf, question->result);
  if (!stored) {
    return ErrorAnswer(stored.error());
  }
  // No files: what the page names must not be read from anywhere on this PC.
  const auto wanted =
      WithWishes(stored->document.evidence.profile, {question->added, question->changes, false});
  if (!wanted) {
    return ErrorAnswer(wanted.error());
  }
  return JsonAnswer(SizingAnswerJson(report::SizeUp(*stored, *wanted)));
}

}  // namespace cli
