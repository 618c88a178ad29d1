// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/requests.h"

#include <filesystem>
#include <utility>

#include "cli/local_page/names.h"
#include "profiles/text/json_cursor.h"
#include "profiles/text/json_text.h"

namespace cli {
namespace {

using profiles::Json;
using profiles::JsonCursor;
using profiles::Mistakes;

constexpr std::size_t kLongestPath = 4000;
constexpr std::size_t kLongestWish = 1000;
constexpr std::size_t kMostWishes = 32;

std::string ReadName(const JsonCursor& at, bool (*allowed)(std::string_view)) {
  std::string name = at.Text(kLongestName);
  if (at.Sound() && !allowed(name)) {
    at.RefuseFound(kNameForm);
  }
  return name;
}

/// Empty where it is not given.
std::string ReadFolder(const JsonCursor& at, const char* key) {
  if (!at.Has(key)) {
    return "";
  }
  std::string folder = at.Member(key).Text(kLongestPath);
  if (at.Sound() && !std::filesystem::path(folder).is_absolute()) {
    at.Member(key).RefuseFound("a folder from the top, as /media/recordings");
  }
  return folder;
}

std::vector<std::string> ReadWishes(const JsonCursor& at, const char* key) {
  std::vector<std::string> wishes;
  for (const JsonCursor& wish : at.Member(key).Elements(0, kMostWishes)) {
    wishes.push_back(wish.Text(kLongestWish));
  }
  return wishes;
}

/// What `read` makes of the body, or the first thing that is wrong with it.
template <typename Read>
auto Parse(std::string_view body, Read read)
    -> base::Result<decltype(read(std::declval<const JsonCursor&>()))> {
  const auto json = profiles::ParseJsonText(body, "request");
  if (!json) {
    return json.error();
  }
  Mistakes errors("request");
  auto value = read(JsonCursor(*json, "", errors));
  if (errors.error()) {
    return *errors.error();
  }
  return value;
}

}  // namespace

base::Result<RunOrder> ParseRunOrder(std::string_view body) {
  return Parse(body, [](const JsonCursor& at) {
    at.CheckKeys({"profile", "length", "record_to", "understood"});
    RunOrder order;
    order.profile = ReadName(at.Member("profile"), IsProfileName);
    order.length = at.Member("length").OneOf({"quick", "standard", "full"});
    order.record_to = ReadFolder(at, "record_to");
    if (!at.Member("understood").IsTrue()) {
      at.Member("understood").RefuseFound("true, once the cautions were read");
    }
    return order;
  });
}

base::Result<SizeQuestion> ParseSizeQuestion(std::string_view body) {
  return Parse(body, [](const JsonCursor& at) {
    at.CheckKeys({"result", "add", "change"});
    SizeQuestion question;
    question.result = ReadName(at.Member("result"), IsResultName);
    question.added = ReadWishes(at, "add");
    question.changes = ReadWishes(at, "change");
    if (question.added.empty() && question.changes.empty()) {
      at.Refuse("found nothing to size; allowed: a source to add, a change, or both");
    }
    return question;
  });
}

base::Result<CheckQuestion> ParseCheckQuestion(std::string_view body) {
  return Parse(body, [](const JsonCursor& at) {
    at.CheckKeys({"profile_text", "record_to", "survey"});
    CheckQuestion question;
    question.profile_text = at.Member("profile_text").AnyText();
    question.record_to = ReadFolder(at, "record_to");
    question.survey = at.Has("survey") && at.Member("survey").IsTrue();
    return question;
  });
}

}  // namespace cli
