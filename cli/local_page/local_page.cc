// SPDX-License-Identifier: Apache-2.0
//
// Routes. Only POST changes anything; every request passes Admit first.

#include "cli/local_page/local_page.h"

#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cli/http/server.h"
#include "cli/local_page/http_answers.h"
#include "cli/local_page/page_files.h"
#include "cli/local_page/profile_answers.h"
#include "cli/local_page/rehearsals.h"
#include "cli/local_page/result_answers.h"
#include "cli/local_page/run_answers.h"
#include "cli/local_page/secret.h"
#include "cli/options/version.h"
#include "cli/system/pc_lock.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

// The files of the page, embedded.

struct Asset {
  std::string_view path;  // "/page.js", below the place of the page
  std::string_view type;
  std::string_view text;
};

/// The page with the cautions in their place, worded as everywhere.
std::string Index() {
  constexpr std::string_view kPlace = "<!-- cautions -->";
  std::string page(page_files::kIndex);
  std::string cautions;
  for (const std::string_view caution : report::kLoadCautions) {
    cautions += "<li>" + std::string(caution) + "</li>";
  }
  return page.replace(page.find(kPlace), kPlace.size(), cautions);
}

/// "/" first.
const std::vector<Asset>& Assets() {
  constexpr std::string_view kHtml = "text/html; charset=utf-8";
  constexpr std::string_view kCss = "text/css; charset=utf-8";
  constexpr std::string_view kScript = "text/javascript; charset=utf-8";
  static const std::string index = Index();
  static const std::vector<Asset> assets = {
      {"/", kHtml, index},
      {"/report.css", kCss, page_files::kReportCss},
      {"/page.css", kCss, page_files::kPageCss},
      {"/page.js", kScript, page_files::kPageJs},
      {"/elements.js", kScript, page_files::kElementsJs},
      {"/fields.js", kScript, page_files::kFieldsJs},
      {"/names.js", kScript, page_files::kNamesJs},
      {"/production.js", kScript, page_files::kProductionJs},
      {"/profile_form.js", kScript, page_files::kProfileFormJs},
      {"/rehearsal.js", kScript, page_files::kRehearsalJs},
      {"/results.js", kScript, page_files::kResultsJs},
      {"/size.js", kScript, page_files::kSizeJs},
  };
  return assets;
}

constexpr const char* kHost = "127.0.0.1";
constexpr int kThreads = 8;
constexpr std::size_t kMostBodyBytes = std::size_t{4} << 20U;  // a profile has at most 1 MiB
constexpr std::size_t kPlaceDigits = 32;                       // 128 bits

using Request = HttpRequest;
using Response = HttpResponse;
using Route = std::function<Response(const Request&)>;

bool WantsFile(const Request& request) {
  return request.HasParameter("download");
}

}  // namespace

struct LocalPage::Parts {
  explicit Parts(Shelf folder) : shelf(std::move(folder)) {}

  Shelf shelf;
  Keys keys;
  KeptAddresses addresses;
  ResultCards cards;
  std::mutex looking_at_this_pc;
  Rehearsals rehearsals;
  std::map<std::string, Route> gets;
  std::map<std::string, Route> posts;
  std::unique_ptr<HttpServer> server;  // the last: nobody asks for what is gone

  void Serve(Listener listener);
  std::optional<Response> Guard(const Request& head) const;
  Response AnswerTo(const Request& request) const;
  std::string WhyBusy() const;
  std::optional<Response> Busy() const;
  void RouteAssets();
  void RouteProfiles();
  void RouteResults();
  void RouteRehearsals();
};

void LocalPage::Parts::Serve(Listener listener) {
  RouteAssets();
  RouteProfiles();
  RouteResults();
  RouteRehearsals();
  HttpLimits limits;
  limits.body_bytes = kMostBodyBytes;
  limits.threads = kThreads;
  HttpService service;
  service.refuse = [this](const Request& head) { return Guard(head); };
  service.answer = [this](const Request& request) { return AnswerTo(request); };
  service.always = SafetyFields();
  service.admits_owner_only = true;
  server = std::make_unique<HttpServer>(std::move(listener), std::move(service), limits);
}

std::optional<Response> LocalPage::Parts::Guard(const Request& head) const {
  const Admission admission = Admit(HeadOf(head), keys);
  switch (admission.gate) {
    case Gate::kIn:
      return std::nullopt;
    case Gate::kExchange:
      return LetIn(keys);
    case Gate::kRefused:
      break;
  }
  return Refuse(admission.status, admission.why);
}

Response LocalPage::Parts::AnswerTo(const Request& request) const {
  const auto& routes = request.method == "POST" ? posts : gets;
  const auto route = routes.find(PathInPlace(request.path, keys).value_or(""));
  return route == routes.end() ? Refuse(404, "There is no such page.") : route->second(request);
}

/// Why nothing may load the PC now, by a rehearsal of ours or by whatever else measures it; empty
/// where it may be.
std::string LocalPage::Parts::WhyBusy() const {
  if (rehearsals.Running()) {
    return "not while a rehearsal runs: it would spoil what is measured";
  }
  const auto other = WhoLoadsThisPc();
  return other ? "not while this PC is loaded by " + *other + ": it would spoil what is measured"
               : "";
}

std::optional<Response> LocalPage::Parts::Busy() const {
  std::string why = WhyBusy();
  if (why.empty()) {
    return std::nullopt;
  }
  return Put(ErrorAnswer({base::ErrorKind::kDenied, "", std::move(why)}), false);
}

void LocalPage::Parts::RouteAssets() {
  for (const Asset& asset : Assets()) {
    gets[std::string(asset.path)] = [&asset](const Request&) {
      return Put({200, std::string(asset.text), std::string(asset.type), Trust::kPage, ""}, false);
    };
  }
}

void LocalPage::Parts::RouteProfiles() {
  gets["/api/state"] = [this](const Request&) {
    return Put(JsonAnswer({{"version", ProgramVersion()},
                           {"folder", shelf.path().string()},
                           {"words", ProfileWords()},
                           {"profiles", ProfileList(shelf)},
                           {"run", RunJson(rehearsals)}}),
               false);
  };
  gets["/api/profile"] = [this](const Request& request) {
    if (request.HasParameter("starter")) {
      return Put(AnswerStarter(request.Parameter("starter")), WantsFile(request));
    }
    const std::string name = request.Parameter("name");
    return WantsFile(request) ? Put(AnswerProfileFile(shelf, name), true)
                              : Put(AnswerProfile(shelf, addresses, name), false);
  };
  posts["/api/profile"] = [this](const Request& request) {
    const ProfileToKeep wanted{request.Parameter("name"), request.body,
                               request.HasParameter("replace")};
    return Put(AnswerKeep(shelf, addresses, wanted), false);
  };
  posts["/api/check"] = [this](const Request& request) {
    const std::unique_lock one_at_a_time(looking_at_this_pc, std::try_to_lock);
    if (!one_at_a_time) {  // a queue would take every thread from who wants to stop a rehearsal
      return Put(
          ErrorAnswer({base::ErrorKind::kDenied, "", "already looking at this PC; ask again"}),
          false);
    }
    return Put(AnswerCheck(shelf, request.body, WhyBusy()), false);
  };
}

void LocalPage::Parts::RouteResults() {
  gets["/api/results"] = [this](const Request&) {
    return Put(JsonAnswer(cards.List(shelf)), false);
  };
  for (const std::string file : {"result.json", "report.html", "profile.json"}) {
    gets["/result/" + file] = [this, file](const Request& request) {
      return Put(AnswerResultFile(shelf, request.Parameter("name"), file), WantsFile(request));
    };
  }
  for (const bool as_json : {false, true}) {
    gets[as_json ? "/compare.json" : "/compare"] = [this, as_json](const Request& request) {
      auto busy = Busy();
      return busy ? *busy
                  : Put(AnswerComparison(shelf, request.Parameters("result"), as_json), as_json);
    };
  }
  posts["/api/size"] = [this](const Request& request) {
    auto busy = Busy();
    return busy ? *busy : Put(AnswerSize(shelf, request.body), false);
  };
}

void LocalPage::Parts::RouteRehearsals() {
  gets["/api/run"] = [this](const Request&) { return Put(JsonAnswer(RunJson(rehearsals)), false); };
  posts["/api/run"] = [this](const Request& request) {
    return Put(AnswerStart(shelf, rehearsals, request.body), false);
  };
  posts["/api/stop"] = [this](const Request&) { return Put(AnswerStop(rehearsals), false); };
}

base::Result<std::unique_ptr<LocalPage>> LocalPage::Start(Shelf shelf, int port) {
  auto parts = std::make_unique<Parts>(std::move(shelf));
  auto token = NewSecret();
  auto place = NewSecret();
  auto cookie = NewSecret();
  for (const auto* secret : {&token, &place, &cookie}) {
    if (!*secret) {
      return secret->error();
    }
  }
  auto listener = Listen(kHost, port);
  if (!listener) {
    return base::Error{base::ErrorKind::kInvalid, "--port " + std::to_string(port),
                       "cannot be listened on: is another program there? allowed: a free port"};
  }
  parts->keys = {*std::move(token), place->substr(0, kPlaceDigits), *std::move(cookie),
                 listener->port};
  parts->Serve(*std::move(listener));
  return std::unique_ptr<LocalPage>(new LocalPage(std::move(parts)));
}

LocalPage::LocalPage(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {}

LocalPage::~LocalPage() {
  parts_->rehearsals.Stop();
  parts_->server = nullptr;
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
