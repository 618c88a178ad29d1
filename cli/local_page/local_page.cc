// SPDX-License-Identifier: Apache-2.0
//
// Routes. Only POST changes anything; every request passes Admit first.

#include "cli/local_page/local_page.h"

#include <httplib.h>
#include <sys/socket.h>

#include <mutex>
#include <thread>
#include <utility>

#include "cli/local_page/assets.h"
#include "cli/local_page/http_answers.h"
#include "cli/local_page/profile_answers.h"
#include "cli/local_page/rehearsals.h"
#include "cli/local_page/result_answers.h"
#include "cli/local_page/run_answers.h"
#include "cli/local_page/secret.h"
#include "cli/version.h"

namespace cli {
namespace {

constexpr const char* kHost = "127.0.0.1";
constexpr std::size_t kThreads = 8;
constexpr int kPatienceSeconds = 1;  // with a silent connection; Ctrl-C waits for it
constexpr std::size_t kMostBodyBytes = std::size_t{4} << 20U;  // a profile has at most 1 MiB

using httplib::Request;
using httplib::Response;

bool WantsFile(const Request& request) {
  return request.has_param("download");
}

/// Every value of a parameter that may come several times.
std::vector<std::string> AllOf(const Request& request, const char* name) {
  std::vector<std::string> values;
  for (std::size_t i = 0; i < request.get_param_value_count(name); ++i) {
    values.push_back(request.get_param_value(name, i));
  }
  return values;
}

}  // namespace

struct LocalPage::Parts {
  explicit Parts(Shelf folder) : shelf(std::move(folder)) {}

  Shelf shelf;
  Keys keys;
  ResultCards cards;
  httplib::Server server;
  std::thread thread;
  std::mutex looking_at_this_pc;
  Rehearsals rehearsals;

  void SetUp();
  void Guard();
  bool Busy(Response& response) const;
  void RouteAssets();
  void RouteProfiles();
  void RouteResults();
  void RouteRehearsals();
};

void LocalPage::Parts::SetUp() {
  server.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
  // Not SO_REUSEPORT, the library's habit: two pages on one port would answer in turn.
  server.set_socket_options([](socket_t socket) {
    const int yes = 1;
    setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  });
  // One request a connection: a body that was not read cannot be taken for the next request.
  server.set_keep_alive_max_count(1);
  server.set_keep_alive_timeout(kPatienceSeconds);
  server.set_read_timeout(kPatienceSeconds, 0);
  server.set_write_timeout(kPatienceSeconds, 0);
  server.set_payload_max_length(kMostBodyBytes);
  server.set_default_headers({{"X-Content-Type-Options", "nosniff"},
                              {"Cache-Control", "no-store"},
                              {"Referrer-Policy", "no-referrer"},
                              {"Cross-Origin-Opener-Policy", "same-origin"},
                              {"Cross-Origin-Resource-Policy", "same-origin"}});
  server.set_error_handler([](const Request&, Response& response) {
    if (response.body.empty()) {
      Refuse(response.status, response.status == 404 ? "There is no such page." : "Not taken.",
             response);
    }
  });
  server.set_exception_handler([](const Request&, Response& response, const std::exception_ptr&) {
    Refuse(500, "It failed.", response);  // memory or threads ran out
  });
  Guard();
  RouteAssets();
  RouteProfiles();
  RouteResults();
  RouteRehearsals();
}

void LocalPage::Parts::Guard() {
  server.set_pre_routing_handler([this](const Request& request, Response& response) {
    const Admission admission = Admit(HeadOf(request), keys);
    if (admission.gate == Gate::kIn) {
      return httplib::Server::HandlerResponse::Unhandled;
    }
    if (admission.gate == Gate::kExchange) {
      LetIn(keys, response);
    } else {
      Refuse(admission.status, admission.why, response);
    }
    return httplib::Server::HandlerResponse::Handled;
  });
}

/// Refuses what would load the PC while a rehearsal measures it.
bool LocalPage::Parts::Busy(Response& response) const {
  if (!rehearsals.Running()) {
    return false;
  }
  Put(ErrorAnswer({base::ErrorKind::kDenied, "",
                   "not while a rehearsal runs: it would spoil what is measured"}),
      false, response);
  return true;
}

void LocalPage::Parts::RouteAssets() {
  for (const Asset& asset : Assets()) {
    server.Get(std::string(asset.path), [&asset](const Request&, Response& response) {
      Put({200, std::string(asset.text), std::string(asset.type), Trust::kPage, ""}, false,
          response);
    });
  }
}

void LocalPage::Parts::RouteProfiles() {
  server.Get("/api/state", [this](const Request&, Response& response) {
    Put(JsonAnswer({{"version", ProgramVersion()},
                    {"folder", shelf.path().string()},
                    {"words", ProfileWords()},
                    {"profiles", ProfileList(shelf)},
                    {"run", RunJson(rehearsals)}}),
        false, response);
  });
  server.Get("/api/profile", [this](const Request& request, Response& response) {
    Put(request.has_param("starter") ? AnswerStarter(request.get_param_value("starter"))
                                     : AnswerProfile(shelf, request.get_param_value("name")),
        WantsFile(request), response);
  });
  server.Post("/api/profile", [this](const Request& request, Response& response) {
    Put(AnswerKeep(shelf, request.get_param_value("name"), request.body,
                   request.has_param("replace")),
        false, response);
  });
  server.Post("/api/check", [this](const Request& request, Response& response) {
    const std::unique_lock one_at_a_time(looking_at_this_pc, std::try_to_lock);
    if (!one_at_a_time) {  // a queue would take every thread from who wants to stop a rehearsal
      Put(ErrorAnswer({base::ErrorKind::kDenied, "", "already looking at this PC; ask again"}),
          false, response);
      return;
    }
    Put(AnswerCheck(shelf, request.body, rehearsals.Running()), false, response);
  });
}

void LocalPage::Parts::RouteResults() {
  server.Get("/api/results", [this](const Request&, Response& response) {
    Put(JsonAnswer(cards.List(shelf)), false, response);
  });
  for (const char* file : {"result.json", "report.html", "profile.json"}) {
    server.Get(std::string("/result/") + file,
               [this, file](const Request& request, Response& response) {
                 Put(AnswerResultFile(shelf, request.get_param_value("name"), file),
                     WantsFile(request), response);
               });
  }
  for (const bool as_json : {false, true}) {
    server.Get(as_json ? "/compare.json" : "/compare", [this, as_json](const Request& request,
                                                                       Response& response) {
      if (!Busy(response)) {
        Put(AnswerComparison(shelf, AllOf(request, "result"), as_json), as_json, response);
      }
    });
  }
  server.Post("/api/size", [this](const Request& request, Response& response) {
    if (!Busy(response)) {
      Put(AnswerSize(shelf, request.body), false, response);
    }
  });
}

void LocalPage::Parts::RouteRehearsals() {
  server.Get("/api/run", [this](const Request&, Response& response) {
    Put(JsonAnswer(RunJson(rehearsals)), false, response);
  });
  server.Post("/api/run", [this](const Request& request, Response& response) {
    Put(AnswerStart(shelf, rehearsals, request.body), false, response);
  });
  server.Post("/api/stop", [this](const Request&, Response& response) {
    Put(AnswerStop(rehearsals), false, response);
  });
}

base::Result<std::unique_ptr<LocalPage>> LocalPage::Start(Shelf shelf, int port) {
  auto parts = std::make_unique<Parts>(std::move(shelf));
  auto token = NewSecret();
  auto cookie = NewSecret();
  if (!token || !cookie) {
    return token ? cookie.error() : token.error();
  }
  parts->SetUp();  // before it is bound: how, is part of it
  const int bound = port == 0 ? parts->server.bind_to_any_port(kHost)
                    : parts->server.bind_to_port(kHost, port) ? port
                                                              : 0;
  if (bound <= 0) {
    return base::Error{base::ErrorKind::kInvalid, "--port " + std::to_string(port),
                       "cannot be listened on: is another program there? allowed: a free port"};
  }
  parts->keys = {*std::move(token), *std::move(cookie), bound};
  return std::unique_ptr<LocalPage>(new LocalPage(std::move(parts)));
}

LocalPage::LocalPage(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {
  parts_->thread = std::thread([server = &parts_->server] { server->listen_after_bind(); });
  // A stop before it listens would be forgotten.
  while (!parts_->server.is_running()) {
    std::this_thread::yield();
  }
}

LocalPage::~LocalPage() {
  parts_->rehearsals.Stop();
  parts_->server.stop();
  parts_->thread.join();
}

std::string LocalPage::Address() const {
  return "http://" + std::string(kHost) + ":" + std::to_string(parts_->keys.port) +
         "/?token=" + parts_->keys.token;
}

std::string LocalPage::StopRehearsal() {
  const std::string name = parts_->rehearsals.State().order.result;
  return parts_->rehearsals.Stop() ? name : "";
}

}  // namespace cli
