// SPDX-License-Identifier: Apache-2.0
//
// A small server of HTTP/1.1 that strangers cannot hold up: slow and silent connections cost little
// and delay nobody.

#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "cli/http/limits.h"
#include "cli/http/listener.h"
#include "cli/http/message.h"

namespace cli {

/// What is served.
struct HttpService {
  /// By the head alone, before any of the body is taken; nothing where the request is let in. Must
  /// be quick, for nobody else is heard meanwhile.
  std::function<std::optional<HttpResponse>(const HttpRequest& head)> refuse;
  /// Of what was let in. May take long: called from several threads at a time. HEAD is answered as
  /// GET, and the body left out.
  std::function<HttpResponse(const HttpRequest& request)> answer;
  std::vector<HttpField> always;  // fields of every response
  /// Where all connections are taken, the oldest one whose request was not let in is closed for a
  /// new one; then the oldest of all, unless who is let in has proven to be the owner.
  bool admits_owner_only = false;
};

/// Answers until its end, from threads of its own.
class HttpServer {
 public:
  HttpServer(Listener listener, HttpService service, const HttpLimits& limits);
  /// Closes every connection at once; waits for answers that are being made, and for nobody else.
  ~HttpServer();
  HttpServer(const HttpServer&) = delete;
  HttpServer& operator=(const HttpServer&) = delete;

  int port() const { return port_; }

 private:
  class Doorman;

  int port_;
  std::unique_ptr<Doorman> doorman_;
};

}  // namespace cli
