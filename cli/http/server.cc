// SPDX-License-Identifier: Apache-2.0

#include "cli/http/server.h"

#include <algorithm>
#include <chrono>
#include <exception>
#include <list>
#include <thread>
#include <utility>

#include "cli/http/asio.h"
#include "cli/http/connection.h"

namespace cli {
namespace {

using asio::ip::tcp;

/// Before the next try where no connection could be accepted: descriptors may have run out.
constexpr std::chrono::milliseconds kPause{20};
/// Let in at once where so many wait: far fewer than there are places, so that each is heard before
/// it could be shown out.
constexpr int kAtOnce = 8;

}  // namespace

/// Lets connections in, one at a time, and shows the least deserving of them out.
class HttpServer::Doorman {
 public:
  Doorman(Listener listener, HttpService service, const HttpLimits& limits)
      : limits_(limits),
        service_(std::move(service)),
        listener_(std::move(listener)),
        workers_(static_cast<std::size_t>(limits.threads)),
        door_(io_),
        pause_(io_) {
    door_.assign(Family(), Another(listener_.socket));
    Await();
    thread_ = std::thread([this] { Run(); });
  }

  ~Doorman() {
    asio::post(io_, [this] { ShutDown(); });
    thread_.join();
    workers_.stop();
    workers_.join();
  }
  Doorman(const Doorman&) = delete;
  Doorman& operator=(const Doorman&) = delete;

 private:
  tcp Family() const { return listener_.v6 ? tcp::v6() : tcp::v4(); }

  /// Where memory runs out somebody goes without an answer, and the others are served on.
  void Run() {
    while (true) {
      try {
        io_.run();
        return;
      } catch (const std::exception&) {
        continue;
      }
    }
  }

  void ShutDown() {
    closing_ = true;
    AsioError ignored;
    door_.cancel(ignored);
    pause_.cancel();
    while (!connections_.empty()) {
      connections_.front()->Close();
    }
    io_.stop();
  }

  void Await() {
    door_.async_wait(tcp::acceptor::wait_read, [this](const AsioError& failed) {
      if (closing_) {
        return;
      }
      if (failed) {
        Pause();
      } else {
        LetIn();
      }
    });
  }

  /// What connections have sent already is read before the next are let in: who says at once who he
  /// is will not be taken for one of the silent.
  void LetIn() {
    try {
      for (int let_in = 0; let_in < kAtOnce; ++let_in) {
        const Accepted accepted = AcceptFrom(listener_.socket.get());
        if (accepted.exhausted) {
          return Pause();
        }
        if (accepted.socket < 0) {
          break;
        }
        Keep(accepted.socket);
      }
    } catch (const std::exception&) {
      return Pause();
    }
    Await();
  }

  void Keep(int accepted) {
    tcp::socket socket(io_);
    AsioError failed;
    socket.assign(Family(), accepted, failed);
    if (failed) {
      const base::Descriptor closed(accepted);
      return;
    }
    if (!MakeRoom()) {
      return;
    }
    const auto connection = std::make_shared<Connection>(
        std::move(socket), ConnectionHost{io_, workers_, service_, limits_});
    const auto place = connections_.insert(connections_.end(), connection);
    connection->Begin([this, place] { connections_.erase(place); });
  }

  /// False where every connection deserves its place: it has proven to be the owner's, and waits
  /// for an answer. Silent ones go first, the oldest before the others.
  bool MakeRoom() {
    if (connections_.size() < limits_.connections) {
      return true;
    }
    auto goes = std::find_if(connections_.begin(), connections_.end(),
                             [](const auto& connection) { return !connection->let_in(); });
    if (goes == connections_.end()) {
      if (service_.admits_owner_only) {
        return false;
      }
      goes = connections_.begin();
    }
    (*goes)->Close();
    return true;
  }

  void Pause() {
    MakeRoom();
    pause_.expires_after(kPause);
    pause_.async_wait([this](const AsioError&) {
      if (!closing_) {
        Await();
      }
    });
  }

  const HttpLimits limits_;
  const HttpService service_;
  Listener listener_;
  asio::io_context io_{1};
  asio::thread_pool workers_;
  tcp::acceptor door_;
  asio::steady_timer pause_;
  std::list<std::shared_ptr<Connection>> connections_;  // the oldest first
  bool closing_ = false;
  std::thread thread_;
};

HttpServer::HttpServer(Listener listener, HttpService service, const HttpLimits& limits)
    : port_(listener.port),
      doorman_(std::make_unique<Doorman>(std::move(listener), std::move(service), limits)) {}

HttpServer::~HttpServer() = default;

}  // namespace cli
