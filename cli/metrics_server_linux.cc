// SPDX-License-Identifier: Apache-2.0

#include "cli/metrics_server.h"

#include <httplib.h>
#include <sys/socket.h>

#include <thread>
#include <utility>

namespace cli {
namespace {

constexpr std::size_t kThreads = 2;
constexpr std::size_t kRequestsOfAConnection = 100;
constexpr int kPatienceSeconds = 2;

/// The form that a client takes (RFC 9110, 12.5.1, without weighing): OpenMetrics unless it names
/// plain text only.
probes::MetricsForm FormFor(const std::string& accept) {
  const bool open = accept.find("application/openmetrics-text") != std::string::npos;
  const bool plain = accept.find("text/plain") != std::string::npos;
  return plain && !open ? probes::MetricsForm::kPlainText : probes::MetricsForm::kOpenMetrics;
}

void Refuse(httplib::Response& response, int status, const char* why) {
  response.status = status;
  response.set_content(why, "text/plain; charset=utf-8");
}

}  // namespace

struct MetricsServer::Http {
  httplib::Server server;
  std::thread thread;
};

base::Result<std::unique_ptr<MetricsServer>> MetricsServer::Start(const MetricsAddress& address,
                                                                  Write write) {
  auto http = std::make_unique<Http>();
  httplib::Server& server = http->server;
  server.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
  // Not SO_REUSEPORT, the library's habit: two watches on one port would answer in turn.
  server.set_socket_options([](socket_t socket) {
    const int yes = 1;
    setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  });
  server.set_keep_alive_max_count(kRequestsOfAConnection);
  server.set_keep_alive_timeout(kPatienceSeconds);
  server.set_read_timeout(kPatienceSeconds, 0);
  server.set_write_timeout(kPatienceSeconds, 0);
  server.set_payload_max_length(1024);
  server.set_pre_routing_handler(
      [address](const httplib::Request& request, httplib::Response& response) {
        if (!IsOurHost(request.get_header_value("Host"), address)) {
          Refuse(response, 403, "This address is served under no name.\n");
          return httplib::Server::HandlerResponse::Handled;
        }
        if (request.method != "GET" && request.method != "HEAD") {
          Refuse(response, 405, "Only GET and HEAD.\n");
          response.set_header("Allow", "GET, HEAD");
          return httplib::Server::HandlerResponse::Handled;
        }
        return httplib::Server::HandlerResponse::Unhandled;
      });
  server.Get("/metrics", [write = std::move(write)](const httplib::Request& request,
                                                    httplib::Response& response) {
    const probes::MetricsForm form = FormFor(request.get_header_value("Accept"));
    response.set_content(write(form), std::string(probes::ContentType(form)));
  });
  MetricsAddress bound = address;
  const bool any = address.port == 0;
  if (any) {
    bound.port = server.bind_to_any_port(address.host);
  }
  if (any ? bound.port <= 0 : !server.bind_to_port(address.host, address.port)) {
    return base::Error{base::ErrorKind::kInvalid,
                       "--metrics " + address.host + ":" + std::to_string(address.port),
                       "cannot be listened on: is the address one of this PC, and the port free?"};
  }
  return std::unique_ptr<MetricsServer>(new MetricsServer(std::move(bound), std::move(http)));
}

MetricsServer::MetricsServer(MetricsAddress address, std::unique_ptr<Http> http)
    : address_(std::move(address)), http_(std::move(http)) {
  http_->thread = std::thread([server = &http_->server] { server->listen_after_bind(); });
  // A stop before it listens would be forgotten.
  while (!http_->server.is_running()) {
    std::this_thread::yield();
  }
}

MetricsServer::~MetricsServer() {
  http_->server.stop();
  http_->thread.join();
}

}  // namespace cli
