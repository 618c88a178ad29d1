// SPDX-License-Identifier: Apache-2.0
//
// One connection, from its first byte to its end. All in the server's one thread for input and
// output, but for the making of answers.

#pragma once

#include <array>
#include <atomic>
#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include "cli/http/asio.h"
#include "cli/http/limits.h"
#include "cli/http/request_reader.h"
#include "cli/http/server.h"

namespace cli {

/// What a connection has of its server, which outlives it.
struct ConnectionHost {
  asio::io_context& io;
  asio::thread_pool& workers;
  const HttpService& service;
  const HttpLimits& limits;
};

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(asio::ip::tcp::socket socket, const ConnectionHost& host);

  /// `on_end` comes once, when it is closed by whomever.
  void Begin(std::function<void()> on_end);
  void Close();
  /// Whether its request was let in and not answered yet.
  bool let_in() const { return let_in_; }

 private:
  using Stage = RequestReader::Stage;

  void GiveTime(std::chrono::milliseconds time);
  void Read();
  void GoOnFrom(Stage stage);
  void MeetHead();
  void SayContinue();
  void MakeAnswer();
  void Send(HttpResponse response);
  void Sent(bool keep_alive);
  void SayFarewell();
  void HearOut();

  asio::ip::tcp::socket socket_;
  asio::steady_timer deadline_;
  ConnectionHost host_;
  RequestReader reader_;
  std::function<void()> on_end_;
  std::array<char, 16384> block_{};
  std::string head_;  // of the response that is being sent
  HttpResponse response_;
  int requests_left_;
  std::size_t heard_out_ = 0;  // bytes
  std::size_t most_heard_out_ = 0;
  bool let_in_ = false;
  std::atomic<bool> closed_ = false;  // looked at before an answer is made, too
};

}  // namespace cli
