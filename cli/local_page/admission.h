// SPDX-License-Identifier: Apache-2.0
//
// Who is answered: decided from a request's head alone, before anything of it is acted on.
//
// Browsers send cookies to every port of a host (RFC 6265, 8.5), so that any server on 127.0.0.1
// would get ours. It is sent below a place only that nobody can guess: a path that the page has to
// itself.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace cli {

/// What the decision rests on. Headers that may come once only are lists: twice is a refusal.
struct RequestHead {
  std::string method;
  std::string path;                  // decoded, without the query
  std::optional<std::string> token;  // of the query
  std::vector<std::string> hosts;
  std::vector<std::string> origins;
  std::vector<std::string> fetch_sites;  // Sec-Fetch-Site
  std::vector<std::string> cookies;      // whole Cookie headers
  std::string content_type;
};

struct Keys {
  std::string token;   // in the address that is printed
  std::string place;   // the folder, as browsers see it, of all that is served for the token
  std::string cookie;  // what is sent to no other place
  int port = 0;
};

enum class Gate { kIn, kExchange, kRefused };

struct Admission {
  Gate gate = Gate::kRefused;
  int status = 0;  // of the refusal
  std::string why;
};

/// A page on the web that gives its own name to our address (DNS rebinding) shows by the Host
/// header; one that sends requests here by Origin and Sec-Fetch-Site; another program of this PC by
/// not knowing the key.
Admission Admit(const RequestHead& head, const Keys& keys);

/// The whole cookie for the Set-Cookie field.
std::string CookieOf(const Keys& keys);

/// The path below the place, with a slash in front; nothing for what is not there.
std::optional<std::string> PathInPlace(const std::string& path, const Keys& keys);

}  // namespace cli
