// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/answer.h"

#include <cstddef>
#include <string_view>
#include <utility>

#include "base/text.h"
#include "profiles/demand/stream_url.h"

namespace cli {
namespace {

int StatusOf(base::ErrorKind kind) {
  switch (kind) {
    case base::ErrorKind::kNotPresent:
      return 404;
    case base::ErrorKind::kDenied:
      return 409;
    case base::ErrorKind::kIo:
      return 500;
    default:
      return 400;
  }
}

}  // namespace

Answer JsonAnswer(const Json& json, int status) {
  Answer answer;
  answer.status = status;
  answer.body = json.dump(-1, ' ', false, Json::error_handler_t::replace);
  return answer;
}

Json ErrorJson(const base::Error& error) {
  std::string_view where = error.where;
  for (const std::string_view origin : {"request: ", "profile: "}) {
    if (where.starts_with(origin)) {
      where.remove_prefix(origin.size());
    }
  }
  return {{"where", base::Printable(profiles::WithMaskedUrls(where), 400)},
          {"detail", base::Printable(profiles::WithMaskedUrls(error.detail), 2000)}};
}

Answer ErrorAnswer(const base::Error& error) {
  return JsonAnswer({{"error", ErrorJson(error)}}, StatusOf(error.kind));
}

Answer MistakesAnswer(const std::vector<base::Error>& mistakes) {
  Json error = ErrorJson(mistakes.front());
  Json more = Json::array();
  for (std::size_t i = 1; i < mistakes.size(); ++i) {
    more.push_back(ErrorJson(mistakes[i]));
  }
  error["more"] = std::move(more);
  return JsonAnswer({{"error", std::move(error)}}, StatusOf(base::ErrorKind::kInvalid));
}

}  // namespace cli
