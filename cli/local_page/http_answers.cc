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

std::vector<std::string> All(const httplib::Request& request, const char* name) {
  std::vector<std::string> values;
  for (std::size_t i = 0; i < request.get_header_value_count(name); ++i) {
    values.push_back(request.get_header_value(name, i));
  }
  return values;
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

RequestHead HeadOf(const httplib::Request& request) {
  RequestHead head;
  head.method = request.method;
  head.path = request.path;
  if (request.has_param("token")) {
    head.token = request.get_param_value("token");
  }
  head.hosts = All(request, "Host");
  head.origins = All(request, "Origin");
  head.fetch_sites = All(request, "Sec-Fetch-Site");
  head.cookies = All(request, "Cookie");
  head.content_type = request.get_header_value("Content-Type");
  return head;
}

void Put(const Answer& answer, bool download, httplib::Response& response) {
  response.status = answer.status;
  response.set_header(kPolicy, PolicyOf(answer.trust));
  if (download && !answer.download_as.empty()) {
    response.set_header("Content-Disposition", Disposition(answer.download_as));
  }
  response.set_content(answer.body, answer.type);
}

void Refuse(int status, const std::string& why, httplib::Response& response) {
  response.status = status;
  response.set_header(kPolicy, kDataPolicy);
  response.set_header("Connection", "close");
  response.set_content(why + "\n", "text/plain; charset=utf-8");
}

void LetIn(const Keys& keys, httplib::Response& response) {
  response.set_header(kPolicy, kDataPolicy);
  response.set_header("Set-Cookie", CookieName(keys.port) + "=" + keys.cookie +
                                        "; Path=/; HttpOnly; SameSite=Strict");
  response.set_content(
      "<!DOCTYPE html><html lang=\"en\"><meta charset=\"utf-8\">"
      "<meta http-equiv=\"refresh\" content=\"0; url=/\"><title>rigproof</title>"
      "<p><a href=\"/\">To the page</a></p></html>\n",
      "text/html; charset=utf-8");
}

}  // namespace cli
