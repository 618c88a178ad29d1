// SPDX-License-Identifier: Apache-2.0
//
// Puts one request together from the bytes of a stranger, within limits.

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "cli/http/limits.h"
#include "cli/http/message.h"

namespace cli {

/// Keeps no more than the limits allow: of the head before it is whole, of the body once asked to
/// go on.
class RequestReader {
 public:
  enum class Stage {
    kHead,      // more bytes are wanted
    kHeadRead,  // the head is whole: GoOn() where the body is wanted
    kBody,      // more bytes are wanted
    kWhole,     // until Next()
    kRefused,   // no request that is taken; see refusal()
  };

  explicit RequestReader(const HttpLimits& limits) : limits_(limits) {}

  Stage stage() const { return stage_; }
  /// Bytes as they came.
  Stage Take(std::string_view bytes);
  /// After kHeadRead: the body is taken, too.
  Stage GoOn();
  /// After kWhole: the next request of the connection, from bytes that came with the last one.
  Stage Next();

  /// Its body is there only when it is whole.
  const HttpRequest& request() const { return request_; }
  const HttpResponse& refusal() const { return refusal_; }
  /// Whether the client waits for a word before it sends the body (RFC 9110, 10.1.1).
  bool AwaitsContinue() const;
  /// Whether the client wants to ask more on this connection.
  bool KeepsAlive() const { return keep_alive_; }

 private:
  Stage Refuse(int status, std::string_view why);
  Stage LookForHead(std::size_t from);
  Stage ReadHead(std::size_t head_bytes);
  Stage FillBody();

  HttpLimits limits_;
  Stage stage_ = Stage::kHead;
  std::string bytes_;  // not used yet
  std::size_t lines_ = 0;
  std::uint64_t body_bytes_ = 0;  // that are announced
  bool keep_alive_ = false;
  HttpRequest request_;
  HttpResponse refusal_;
};

/// The head of a response: the status line and the fields, to the empty line.
std::string ResponseHead(const HttpResponse& response, bool keep_alive);

}  // namespace cli
