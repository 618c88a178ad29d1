// SPDX-License-Identifier: Apache-2.0
//
// Who is answered: decided from a request's head alone, before anything of it is acted on.

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
  std::string cookie;  // what the token is exchanged for
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

/// The cookie's name: another for each port, for browsers share cookies between ports.
std::string CookieName(int port);

}  // namespace cli
