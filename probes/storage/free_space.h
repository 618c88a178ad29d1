// SPDX-License-Identifier: Apache-2.0
//
// Free space where a file is, asked by a thread of its own: a file system that stands still holds
// up whoever asks.

#pragma once

#include <memory>
#include <optional>
#include <string>

namespace probes {

class FreeSpace {
 public:
  FreeSpace();
  ~FreeSpace();
  FreeSpace(const FreeSpace&) = delete;
  FreeSpace& operator=(const FreeSpace&) = delete;

  /// From now on of the file at this path; empty: none.
  void Watch(const std::string& path);
  /// As told within the last seconds; nothing while no answer came.
  std::optional<double> Bytes() const;

 private:
  struct State;
  std::shared_ptr<State> state_;
};

}  // namespace probes
