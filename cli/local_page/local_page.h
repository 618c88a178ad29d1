// SPDX-License-Identifier: Apache-2.0
//
// The page on 127.0.0.1: who is answered, and what.

#pragma once

#include <memory>
#include <string>

#include "base/result.h"
#include "cli/local_page/shelf.h"

namespace cli {

/// Answers until its end, from threads of its own.
class LocalPage {
 public:
  /// `port` 0 takes any that is free; kInvalid when it cannot be listened on.
  static base::Result<std::unique_ptr<LocalPage>> Start(Shelf shelf, int port);
  /// Stops a running rehearsal in good order and waits for what it writes.
  ~LocalPage();
  LocalPage(const LocalPage&) = delete;
  LocalPage& operator=(const LocalPage&) = delete;

  /// With the key that lets a browser in.
  std::string Address() const;
  /// Asks a running rehearsal to end; the name of its result, empty when none runs.
  std::string StopRehearsal();

 private:
  struct Parts;

  explicit LocalPage(std::unique_ptr<Parts> parts);

  std::unique_ptr<Parts> parts_;
};

}  // namespace cli
