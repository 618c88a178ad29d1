// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/admission.h"

#include <algorithm>
#include <utility>

#include "base/text.h"
#include "cli/local_page/secret.h"

namespace cli {
namespace {

constexpr int kUsualPort = 80;  // of http: RFC 9110, section 4.2.1
constexpr int kForbidden = 403;
constexpr int kWrongMethod = 405;
constexpr int kWrongType = 415;
constexpr int kMisdirected = 421;

/// Another for each port, for browsers share cookies between ports.
std::string CookieName(int port) {
  return "rigproof_" + std::to_string(port);
}

Admission Refused(int status, std::string why) {
  return {Gate::kRefused, status, std::move(why)};
}

bool IsOurs(const std::string& host, int port) {
  if (port == kUsualPort && (host == "127.0.0.1" || host == "localhost")) {
    return true;  // browsers leave it out
  }
  const std::string behind = ":" + std::to_string(port);
  return host == "127.0.0.1" + behind || host == "localhost" + behind;
}

/// The cookie of ours in "a=1; b=2"; where it stands more than once, one that is right will do:
/// another program of this PC may have set one, too.
bool HasCookie(const std::vector<std::string>& headers, const Keys& keys) {
  const std::string begin = CookieName(keys.port) + "=";
  return std::any_of(headers.begin(), headers.end(), [&](const std::string& header) {
    const auto pairs = base::Split(header, ';');
    return std::any_of(pairs.begin(), pairs.end(), [&](std::string_view pair) {
      pair = base::Trim(pair);
      return pair.starts_with(begin) && SameSecret(pair.substr(begin.size()), keys.cookie);
    });
  });
}

bool ComesFromElsewhere(const std::vector<std::string>& sites) {
  return std::any_of(sites.begin(), sites.end(), [](const std::string& site) {
    return site != "same-origin" && site != "none";
  });
}

Admission AdmitChange(const RequestHead& head) {
  if (head.origins.size() != 1 || head.origins.front() != "http://" + head.hosts.front()) {
    return Refused(kForbidden, "Only the page itself may change something.");
  }
  if (head.content_type != "application/json") {
    return Refused(kWrongType, "Only application/json.");
  }
  return {Gate::kIn, 0, ""};
}

}  // namespace

std::string CookieOf(const Keys& keys) {
  return CookieName(keys.port) + "=" + keys.cookie + "; Path=/" + keys.place +
         "/; HttpOnly; SameSite=Strict";
}

std::optional<std::string> PathInPlace(const std::string& path, const Keys& keys) {
  const std::size_t end = path.find('/', 1);
  if (end == std::string::npos || path.front() != '/' ||
      !SameSecret(std::string_view(path).substr(1, end - 1), keys.place)) {
    return std::nullopt;
  }
  return path.substr(end);
}

Admission Admit(const RequestHead& head, const Keys& keys) {
  if (head.hosts.size() != 1 || !IsOurs(head.hosts.front(), keys.port)) {
    return Refused(kMisdirected, "This page is served under no name but its address.");
  }
  const bool change = head.method == "POST";
  if (!change && head.method != "GET" && head.method != "HEAD") {
    return Refused(kWrongMethod, "Only GET, HEAD and POST.");
  }
  if (!change && head.path == "/" && head.token) {
    return SameSecret(*head.token, keys.token)
               ? Admission{Gate::kExchange, 0, ""}
               : Refused(kForbidden, "Wrong key: take the address that rigproof printed last.");
  }
  if (ComesFromElsewhere(head.fetch_sites)) {
    return Refused(kForbidden, "Another page asked for this.");
  }
  if (!PathInPlace(head.path, keys) || !HasCookie(head.cookies, keys)) {
    return Refused(kForbidden, "Open the address that rigproof open has printed, with its key.");
  }
  return change ? AdmitChange(head) : Admission{Gate::kIn, 0, ""};
}

}  // namespace cli
