// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/http_answers.h"

#include <string_view>
#include <vector>

#include <fmt/format.h>

namespace cli {
namespace {

constexpr const char* kPolicy = "Content-Security-Policy";

constexpr const char* kDataPolicy =
    "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
constexpr const char* kPagePolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// A page of one piece has its script and style in it; its own policy names the scripts by digest.
/// The sandbox takes it out of our origin: no cookie, no request to us that is answered.
constexpr const char* kReportPolicy =
    "sandbox allow-scripts allow-downloads allow-modals; default-src 'none'; script-src "
    "'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action "
    "'none'; frame-ancestors 'none'";

const char* PolicyOf(Trust trust) {
  switch (trust) {
    case Trust::kData:
      return kDataPolicy;
    case Trust::kPage:
      return kPagePolicy;
    case Trust::kReport:
      return kReportPolicy;
  }
  return kDataPolicy;
}

/// A file name of any characters, as RFC 6266 and RFC 8187 write it.
std::string Disposition(const std::string& name) {
  std::string encoded;
  for (const char c : name) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                       c == '-' || c == '_' || c == '.';
    encoded += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return "attachment; filename*=UTF-8''" + encoded;
}

}  // namespace

RequestHead HeadOf(const HttpRequest& request) {
  RequestHead head;
  head.method = request.method;
  head.path = request.path;
  if (request.HasParameter("token")) {
    head.token = request.Parameter("token");
  }
  head.hosts = request.All("Host");
  head.origins = request.All("Origin");
  head.fetch_sites = request.All("Sec-Fetch-Site");
  head.cookies = request.All("Cookie");
  head.content_type = request.First("Content-Type");
  return head;
}

std::vector<HttpField> SafetyFields() {
  return {{"X-Content-Type-Options", "nosniff"},
          {"Cache-Control", "no-store"},
          {"Referrer-Policy", "no-referrer"},
          {"Cross-Origin-Opener-Policy", "same-origin"},
          {"Cross-Origin-Resource-Policy", "same-origin"}};
}

HttpResponse Put(const Answer& answer, bool download) {
  HttpResponse response;
  response.status = answer.status;
  response.type = answer.type;
  response.body = answer.body;
  response.fields.push_back({kPolicy, PolicyOf(answer.trust)});
  if (download && !answer.download_as.empty()) {
    response.fields.push_back({"Content-Disposition", Disposition(answer.download_as)});
  }
  return response;
}

HttpResponse Refuse(int status, const std::string& why) {
  HttpResponse response = Refusal(status, why);
  response.fields.push_back({kPolicy, kDataPolicy});
  return response;
}

HttpResponse LetIn(const Keys& keys) {
  const std::string place = "/" + keys.place + "/";
  HttpResponse response;
  response.fields = {{kPolicy, kDataPolicy}, {"Set-Cookie", CookieOf(keys)}};
  response.type = "text/html; charset=utf-8";
  response.body =
      "<!DOCTYPE html><html lang=\"en\"><meta charset=\"utf-8\">"
      "<meta http-equiv=\"refresh\" content=\"0; url=" +
      place + "\"><title>rigproof</title><p><a href=\"" + place + "\">To the page</a></p></html>\n";
  return response;
}

}  // namespace cli
