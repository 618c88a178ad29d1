// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/metrics_server.h"

#include <optional>
#include <string>
#include <utility>

#include "cli/http/server.h"

namespace cli {
namespace {

constexpr int kThreads = 2;
constexpr int kRequestsOfAConnection = 100;
constexpr int kNotOurHost = 403;
constexpr int kNotFound = 404;
constexpr int kWrongMethod = 405;

/// The form that a client takes (RFC 9110, 12.5.1, without weighing): OpenMetrics unless it names
/// plain text only.
probes::MetricsForm FormFor(const std::string& accept) {
  const bool open = accept.find("application/openmetrics-text") != std::string::npos;
  const bool plain = accept.find("text/plain") != std::string::npos;
  return plain && !open ? probes::MetricsForm::kPlainText : probes::MetricsForm::kOpenMetrics;
}

std::optional<HttpResponse> RefusalOf(const HttpRequest& head, const MetricsAddress& address) {
  if (!IsOurHost(head.First("Host"), address)) {
    return Refusal(kNotOurHost, "This address is served under no name.");
  }
  if (head.method != "GET" && head.method != "HEAD") {
    HttpResponse refusal = Refusal(kWrongMethod, "Only GET and HEAD.");
    refusal.fields.push_back({"Allow", "GET, HEAD"});
    return refusal;
  }
  return std::nullopt;
}

HttpResponse AnswerTo(const HttpRequest& request, const MetricsServer::Write& write) {
  if (request.path != "/metrics") {
    return Refusal(kNotFound, "There is /metrics and nothing else.");
  }
  const probes::MetricsForm form = FormFor(request.First("Accept"));
  HttpResponse response;
  response.body = write(form);
  response.type = std::string(probes::ContentType(form));
  return response;
}

}  // namespace

base::Result<std::unique_ptr<MetricsServer>> MetricsServer::Start(const MetricsAddress& address,
                                                                  Write write) {
  auto listener = Listen(address.host, address.port);
  if (!listener) {
    return base::Error{base::ErrorKind::kInvalid,
                       "--metrics " + address.host + ":" + std::to_string(address.port),
                       "cannot be listened on: is the address one of this PC, and the port free?"};
  }
  MetricsAddress bound = address;
  bound.port = listener->port;
  HttpLimits limits;
  limits.requests = kRequestsOfAConnection;
  limits.threads = kThreads;
  HttpService service;
  service.refuse = [address](const HttpRequest& head) { return RefusalOf(head, address); };
  service.answer = [write = std::move(write)](const HttpRequest& request) {
    return AnswerTo(request, write);
  };
  auto server = std::make_unique<HttpServer>(*std::move(listener), std::move(service), limits);
  return std::unique_ptr<MetricsServer>(new MetricsServer(std::move(bound), std::move(server)));
}

MetricsServer::MetricsServer(MetricsAddress address, std::unique_ptr<HttpServer> server)
    : address_(std::move(address)), server_(std::move(server)) {}

MetricsServer::~MetricsServer() = default;

}  // namespace cli
