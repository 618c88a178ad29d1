// SPDX-License-Identifier: Apache-2.0
//
// Boost.Beast parses heads. It takes long to compile, and is included nowhere else.

#include "cli/http/request_reader.h"

#include <algorithm>
#include <cstdint>
#include <limits>
#include <utility>

// Boost 1.74 meets C++20's coroutines with headers of its own that compilers have left behind.
#define BOOST_ASIO_DISABLE_CO_AWAIT
#include <boost/asio/buffer.hpp>
#include <boost/beast/http/empty_body.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/status.hpp>
#include <fmt/format.h>

namespace cli {
namespace {

namespace http = boost::beast::http;

constexpr std::string_view kHeadEnd = "\r\n\r\n";
constexpr int kBadRequest = 400;
constexpr int kLengthRequired = 411;
constexpr int kBodyTooLarge = 413;
constexpr int kHeadTooLarge = 431;

}  // namespace

RequestReader::Stage RequestReader::Refuse(int status, std::string_view why) {
  refusal_ = Refusal(status, why);
  bytes_ = {};
  stage_ = Stage::kRefused;
  return stage_;
}

RequestReader::Stage RequestReader::Take(std::string_view bytes) {
  if (stage_ == Stage::kRefused) {
    return stage_;
  }
  const std::size_t before = bytes_.size();
  bytes_ += bytes;
  switch (stage_) {
    case Stage::kHead:
      return LookForHead(before);
    case Stage::kBody:
      return FillBody();
    default:
      return stage_;  // of the next request
  }
}

/// `from`: where the bytes begin that were not looked at.
RequestReader::Stage RequestReader::LookForHead(std::size_t from) {
  const std::size_t back = std::min(from, kHeadEnd.size() - 1);
  const std::size_t end = bytes_.find(kHeadEnd, from - back);
  const std::size_t head = end == std::string::npos ? bytes_.size() : end + kHeadEnd.size();
  lines_ += static_cast<std::size_t>(
      std::count(bytes_.begin() + static_cast<std::ptrdiff_t>(std::min(from, head)),
                 bytes_.begin() + static_cast<std::ptrdiff_t>(head), '\n'));
  const std::size_t lines_beside_fields = end == std::string::npos ? 1 : 2;
  if (head > limits_.head_bytes || lines_ > limits_.fields + lines_beside_fields) {
    return Refuse(kHeadTooLarge, "The head of this request is too large.");
  }
  return end == std::string::npos ? stage_ : ReadHead(head);
}

RequestReader::Stage RequestReader::ReadHead(std::size_t head_bytes) {
  http::request_parser<http::empty_body> parser;
  parser.header_limit(std::numeric_limits<std::uint32_t>::max());  // ours was kept
  parser.body_limit(std::numeric_limits<std::uint64_t>::max());
  parser.eager(false);
  boost::beast::error_code failed;
  const std::size_t used = parser.put(boost::asio::buffer(bytes_.data(), head_bytes), failed);
  if (failed || used != head_bytes || !parser.is_header_done()) {
    return Refuse(kBadRequest, "This is no request of HTTP/1.1.");
  }
  const auto& head = parser.get();
  request_ = {};
  request_.method = std::string(head.method_string());
  for (const auto& field : head) {
    request_.fields.push_back({std::string(field.name_string()), std::string(field.value())});
  }
  if (!ReadTarget(std::string(head.target()), request_)) {
    return Refuse(kBadRequest, "This is no address of a page.");
  }
  // Of one form only: where two tell where a request ends, two readers may differ.
  if (!request_.All("Transfer-Encoding").empty()) {
    return Refuse(kLengthRequired, "Only with Content-Length.");
  }
  const auto announced = parser.content_length();
  body_bytes_ = announced ? *announced : 0;
  keep_alive_ = parser.keep_alive();
  bytes_.erase(0, head_bytes);
  stage_ = Stage::kHeadRead;
  return stage_;
}

RequestReader::Stage RequestReader::GoOn() {
  if (stage_ != Stage::kHeadRead) {
    return stage_;
  }
  if (body_bytes_ > limits_.body_bytes) {
    return Refuse(kBodyTooLarge, "The body of this request is too large.");
  }
  stage_ = Stage::kBody;
  return FillBody();
}

RequestReader::Stage RequestReader::FillBody() {
  if (bytes_.size() >= body_bytes_) {
    std::string more = bytes_.substr(body_bytes_);
    bytes_.resize(body_bytes_);
    request_.body = std::exchange(bytes_, std::move(more));
    stage_ = Stage::kWhole;
  }
  return stage_;
}

RequestReader::Stage RequestReader::Next() {
  request_ = {};
  lines_ = 0;
  stage_ = Stage::kHead;
  return LookForHead(0);
}

bool RequestReader::AwaitsContinue() const {
  return bytes_.empty() && body_bytes_ > 0 && body_bytes_ <= limits_.body_bytes &&
         request_.First("Expect") == "100-continue";
}

std::string ResponseHead(const HttpResponse& response, bool keep_alive) {
  const boost::string_view reason =
      http::obsolete_reason(http::int_to_status(static_cast<unsigned>(response.status)));
  std::string head =
      fmt::format("HTTP/1.1 {} {}\r\nContent-Type: {}\r\nContent-Length: {}\r\nConnection: {}\r\n",
                  response.status, std::string_view(reason.data(), reason.size()), response.type,
                  response.body.size(), keep_alive ? "keep-alive" : "close");
  for (const HttpField& field : response.fields) {
    head += fmt::format("{}: {}\r\n", field.name, field.value);
  }
  return head + "\r\n";
}

}  // namespace cli
