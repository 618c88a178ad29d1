// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/answer.h"

#include <string_view>

#include "base/text.h"
#include "profiles/stream_url.h"

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

}  // namespace cli
