// SPDX-License-Identifier: Apache-2.0

#include "cli/http/connection.h"

#include <exception>
#include <utility>

namespace cli {
namespace {

using asio::ip::tcp;

constexpr int kFailedHere = 500;
/// Bytes that nobody wants: of whom we know, so that a refusal of a long body arrives; of others.
constexpr std::size_t kMostHeardOut = std::size_t{16} << 20U;
constexpr std::size_t kMostHeardOutOfStrangers = std::size_t{64} << 10U;

/// What the service answers; whatever it throws is an answer, too.
HttpResponse AnswerOf(const HttpService& service, const HttpRequest& request) {
  try {
    return service.answer(request);
  } catch (const std::exception&) {
    return Refusal(kFailedHere, "It failed.");  // memory or threads ran out
  }
}

}  // namespace

Connection::Connection(tcp::socket socket, const ConnectionHost& host)
    : socket_(std::move(socket)),
      deadline_(host.io),
      host_(host),
      reader_(host.limits),
      requests_left_(host.limits.requests) {}

void Connection::Begin(std::function<void()> on_end) {
  on_end_ = std::move(on_end);
  GiveTime(host_.limits.request);
  Read();
}

void Connection::Close() {
  if (closed_) {
    return;
  }
  const auto self = shared_from_this();  // for the server forgets it
  closed_ = true;
  AsioError ignored;
  socket_.close(ignored);
  deadline_.cancel();
  on_end_();
}

void Connection::GiveTime(std::chrono::milliseconds time) {
  deadline_.expires_after(time);
  deadline_.async_wait([self = shared_from_this()](const AsioError& called_off) {
    // One that was called off too late finds a later time set.
    if (!called_off && self->deadline_.expiry() <= asio::steady_timer::clock_type::now()) {
      self->Close();
    }
  });
}

void Connection::Read() {
  socket_.async_read_some(asio::buffer(block_),
                          [self = shared_from_this()](const AsioError& failed, std::size_t bytes) {
                            if (failed) {
                              self->Close();
                            } else {
                              self->GoOnFrom(self->reader_.Take({self->block_.data(), bytes}));
                            }
                          });
}

void Connection::GoOnFrom(Stage stage) {
  switch (stage) {
    case Stage::kHead:
    case Stage::kBody:
      return Read();
    case Stage::kHeadRead:
      return MeetHead();
    case Stage::kWhole:
      return MakeAnswer();
    case Stage::kRefused:
      return Send(reader_.refusal());
  }
}

void Connection::MeetHead() {
  if (auto refusal = host_.service.refuse(reader_.request())) {
    refusal->close = true;  // its body would be taken for the next request
    return Send(*std::move(refusal));
  }
  let_in_ = true;
  if (reader_.AwaitsContinue()) {
    return SayContinue();
  }
  GoOnFrom(reader_.GoOn());
}

void Connection::SayContinue() {
  static constexpr std::string_view kContinue = "HTTP/1.1 100 Continue\r\n\r\n";
  asio::async_write(socket_, asio::buffer(kContinue.data(), kContinue.size()),
                    [self = shared_from_this()](const AsioError& failed, std::size_t) {
                      if (failed) {
                        self->Close();
                      } else {
                        self->GoOnFrom(self->reader_.GoOn());
                      }
                    });
}

void Connection::MakeAnswer() {
  deadline_.cancel();
  asio::post(host_.workers, [self = shared_from_this()] {
    if (self->closed_) {
      return;  // nobody is there any more
    }
    // The reader is not touched meanwhile: nothing is read before the answer is sent.
    HttpResponse response = AnswerOf(self->host_.service, self->reader_.request());
    asio::post(self->host_.io, [self, response = std::move(response)]() mutable {
      self->Send(std::move(response));
    });
  });
}

void Connection::Send(HttpResponse response) {
  if (closed_) {
    return;  // while the answer was made
  }
  response_ = std::move(response);
  for (const HttpField& field : host_.service.always) {
    response_.fields.push_back(field);
  }
  const bool keep_alive = !response_.close && reader_.KeepsAlive() && --requests_left_ > 0;
  head_ = ResponseHead(response_, keep_alive);
  if (reader_.request().method == "HEAD") {
    response_.body.clear();
  }
  GiveTime(host_.limits.response);
  const std::array<asio::const_buffer, 2> parts = {asio::buffer(head_),
                                                   asio::buffer(response_.body)};
  asio::async_write(socket_, parts,
                    [self = shared_from_this(), keep_alive](const AsioError& failed, std::size_t) {
                      if (failed) {
                        self->Close();
                      } else {
                        self->Sent(keep_alive);
                      }
                    });
}

void Connection::Sent(bool keep_alive) {
  most_heard_out_ = let_in_ ? kMostHeardOut : kMostHeardOutOfStrangers;
  let_in_ = false;
  response_ = {};
  if (!keep_alive) {
    return SayFarewell();
  }
  GiveTime(host_.limits.request);
  GoOnFrom(reader_.Next());
}

/// A connection that is closed while bytes are under way to it is reset, and what was sent to the
/// other side may be lost with it (RFC 9112, 9.6).
void Connection::SayFarewell() {
  AsioError failed;
  socket_.shutdown(tcp::socket::shutdown_send, failed);
  if (failed) {
    return Close();
  }
  GiveTime(host_.limits.farewell);
  HearOut();
}

void Connection::HearOut() {
  socket_.async_read_some(asio::buffer(block_),
                          [self = shared_from_this()](const AsioError& failed, std::size_t bytes) {
                            self->heard_out_ += bytes;
                            if (failed || self->heard_out_ > self->most_heard_out_) {
                              self->Close();
                            } else {
                              self->HearOut();
                            }
                          });
}

}  // namespace cli
