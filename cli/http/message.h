// SPDX-License-Identifier: Apache-2.0
//
// Requests and responses of HTTP/1.1 as plain values.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace cli {

struct HttpField {
  std::string name;
  std::string value;
};

struct HttpRequest {
  std::string method;
  std::string path;              // decoded, without the query
  std::vector<HttpField> query;  // decoded
  std::vector<HttpField> fields;
  std::string body;

  /// Every value of a header field; names in any case (RFC 9110, 5.1).
  std::vector<std::string> All(std::string_view name) const;
  /// The first value of a header field, else empty.
  std::string First(std::string_view name) const;
  bool HasParameter(std::string_view name) const;
  std::vector<std::string> Parameters(std::string_view name) const;
  /// The first of that name, else empty.
  std::string Parameter(std::string_view name) const;
};

struct HttpResponse {
  int status = 200;
  std::string body;
  std::string type = "text/plain; charset=utf-8";
  std::vector<HttpField> fields;  // beside type and length
  bool close = false;             // the connection ends after it
};

/// Path and query of a request's target in origin form, "/a%20b?c=d+e"; false where it is in no
/// such form, or a percent sign has not two hexadecimal digits behind it.
bool ReadTarget(std::string_view target, HttpRequest& request);

/// One line of text, and the end of the connection.
HttpResponse Refusal(int status, std::string_view why);

}  // namespace cli
