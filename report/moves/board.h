// SPDX-License-Identifier: Apache-2.0
//
// Devices placed so far by the search for moves, with the load that they make.

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "report/moves/search.h"

namespace report {

/// Borrows the problem.
class MoveBoard {
 public:
  explicit MoveBoard(const MoveProblem& problem);

  /// Largest share among the links that the device would use, with it; nothing
  /// when it cannot be there.
  std::optional<std::int64_t> With(std::size_t device, std::size_t group) const;

  void Place(std::size_t device, std::size_t group);
  void TakeBack(std::size_t device, std::size_t group);

  int places(std::size_t group) const { return places_[group]; }
  /// Of a link, for certain.
  std::int64_t certain(int link) const {
    return links_[static_cast<std::size_t>(link)].load.certain;
  }

  /// Shares in use, fullest first, that no way to place the rest goes below: what is placed loads
  /// its links, and each of the rest its own cable. Exact once all are placed.
  std::vector<std::int64_t> AtLeast() const;

  /// What decides how the rest can go on, for remembering, after `first` numbers of the caller.
  std::vector<std::int64_t> State(std::vector<std::int64_t> first) const;

 private:
  struct Link {
    Shares load;
    int devices = 0;       // that load it
    std::int64_t own = 0;  // sum of what their own cables have in use
  };

  void Change(std::size_t device, std::size_t group, int sign);

  const MoveProblem& problem_;
  std::vector<Link> links_;
  std::vector<int> places_;
  std::vector<std::int64_t> cables_;  // of each device: of its own, at least
  std::vector<std::int64_t> lowest_;  // of each device: the lowest that its cable may have
};

}  // namespace report
